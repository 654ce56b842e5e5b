"""What goes wrong while files are written: said in one sentence that names the file."""


class ReleaseFault(Exception):
    """A file could not be written, or does not agree with the design when read back.

    Attributes:
        file: the file's name in the release.
        sentence: what is wrong.
    """

    def __init__(self, file: str, sentence: str) -> None:
        super().__init__(f"{file}: {sentence}")
        self.file = file
        self.sentence = sentence

    def __reduce__(self) -> tuple[type["ReleaseFault"], tuple[str, str]]:
        """Return how it is built again in another process."""
        return type(self), (self.file, self.sentence)

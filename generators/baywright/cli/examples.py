"""How every command's help ends: a few command lines that work as they stand."""


def examples(*lines: str) -> str:
    """Return the end of a command's help: each line a command as a person types it, left as it is (no rewrapping)."""
    return "\b\nFor example:\n" + "\n".join(f"  baywright {line}" for line in lines)

"""A release takes its place whole or not at all; the manifest notices every change."""

import json
import os
import signal
import subprocess
import sys
import textwrap
from pathlib import Path

import pytest

from baywright.release.cautions import CAUTIONS, write_cautions
from baywright.release.fault import ReleaseFault
from baywright.release.folder import release_folder
from baywright.release.manifest import NAME, files_of, verify_manifest, write_manifest


def release(target: Path, text: str = "one") -> None:
    with release_folder(target) as folder:
        (folder / "sub").mkdir()
        (folder / "sub" / "a.txt").write_text(text)
        write_cautions(folder)
        write_manifest(folder, "0" * 64, "A")


def litter(target: Path) -> list[str]:
    return sorted(p.name for p in target.parent.iterdir() if p != target)


def test_a_release_is_whole_and_says_so(tmp_path):
    target = tmp_path / "deep" / "out"
    release(target)
    assert verify_manifest(target) == []
    assert litter(target) == []
    assert files_of(target) == ["CAUTIONS.txt", "sub/a.txt"]
    text = json.loads((target / NAME).read_text())
    assert text["job sha256"] == "0" * 64
    assert set(text) == {"baywright", "revision", "job sha256", "made from", "written with", "files"}


@pytest.mark.skipif(sys.platform != "linux", reason="tells files apart the Linux way")
def test_everything_is_on_the_disk_before_it_takes_its_place(tmp_path, monkeypatch):
    target = tmp_path / "out"
    release(target)
    synced: list[str] = []
    there = os.stat(target).st_ino

    def fsync(handle: int) -> None:
        old = target.stat().st_ino == there
        synced.append(("" if old else "after: ") + os.readlink(f"/proc/self/fd/{handle}"))

    monkeypatch.setattr(os, "fsync", fsync)
    release(target, "two")
    new = tmp_path / f".out.new-{os.getpid()}"
    files = [new, new / "sub", *(new / name for name in (*files_of(target), NAME))]
    assert sorted(synced) == sorted([*map(str, files), f"after: {tmp_path}"])


def test_where_two_folders_can_t_change_places_at_once(tmp_path, monkeypatch):
    """Not every file system can: the last release is then set aside, and comes back if the new one can't be named."""
    from baywright.release import folder as module

    monkeypatch.setattr(module, "_exchange", lambda one, other: False)
    target = tmp_path / "out"
    release(target)
    release(target, "two")
    assert (target / "sub" / "a.txt").read_text() == "two"
    assert litter(target) == []
    rename = Path.rename

    def fails(self: Path, other: Path) -> Path:
        if ".new-" in self.name:
            raise OSError(5, "Input/output error", str(self))
        return rename(self, other)

    monkeypatch.setattr(Path, "rename", fails)
    with pytest.raises(ReleaseFault, match="Input/output error"):
        release(target, "three")
    assert (target / "sub" / "a.txt").read_text() == "two"
    assert verify_manifest(target) == []
    assert litter(target) == []


def test_a_disk_that_fails_at_the_last_moment_leaves_the_last_release(tmp_path, monkeypatch):
    target = tmp_path / "out"
    release(target)

    def fsync(_handle: int) -> None:
        raise OSError(5, "Input/output error")

    monkeypatch.setattr(os, "fsync", fsync)
    with pytest.raises(ReleaseFault, match="Input/output error"):
        release(target, "two")
    assert (target / "sub" / "a.txt").read_text() == "one"
    assert verify_manifest(target) == []
    assert litter(target) == []


def test_every_change_is_noticed(tmp_path):
    target = tmp_path / "out"
    release(target)
    (target / "sub" / "a.txt").write_text("two")  # as long as before
    (target / "CAUTIONS.txt").unlink()
    (target / "new.txt").write_text("")
    assert verify_manifest(target) == [
        "CAUTIONS.txt: is listed but missing",
        "new.txt: is not listed: it was added later",
        "sub/a.txt: was changed after the release",
    ]
    (target / NAME).write_text("{}")
    assert "cannot be read as a manifest" in verify_manifest(target)[0]
    assert "not a release" in verify_manifest(tmp_path)[0]


def test_the_next_release_replaces_the_last(tmp_path):
    target = tmp_path / "out"
    release(target)
    release(target, "two")
    assert (target / "sub" / "a.txt").read_text() == "two"
    assert litter(target) == []


def test_a_failed_run_leaves_the_last_release(tmp_path):
    target = tmp_path / "out"
    release(target)
    with pytest.raises(ZeroDivisionError), release_folder(target) as folder:
        (folder / "half.txt").write_text(str(1 / 0))
    assert verify_manifest(target) == []
    assert litter(target) == []


@pytest.mark.skipif(os.name != "posix", reason="kills a process the POSIX way")
@pytest.mark.parametrize("moment", ["writing", "between the moves", "after the exchange"])
def test_a_killed_run_leaves_the_last_release(tmp_path, moment):
    target = tmp_path / "out"
    release(target)
    script = textwrap.dedent(f"""
        import os, signal
        from pathlib import Path
        from baywright.release import folder as module
        from baywright.release.folder import release_folder
        target = Path({str(target)!r})
        def die(*_):
            os.kill(os.getpid(), signal.SIGKILL)
        with release_folder(target) as folder:
            (folder / "half.txt").write_text("half")
            if {moment!r} == "writing":
                die()
            rename = Path.rename
            def once(self, to):
                rename(self, to)
                die()
            Path.rename = once
            exchange = module._exchange
            module._exchange = lambda *two: {moment!r} == "after the exchange" and (exchange(*two), die())
    """)
    done = subprocess.run([sys.executable, "-c", script], check=False)
    assert done.returncode == -signal.SIGKILL
    assert (moment != "between the moves") == target.exists()
    if moment == "after the exchange":
        assert (target / "half.txt").exists()
        return
    # The next run, even one that fails, first puts the old release back.
    with pytest.raises(RuntimeError), release_folder(target):
        raise RuntimeError
    assert verify_manifest(target) == []
    assert litter(target) == []
    release(target, "three")
    assert (target / "sub" / "a.txt").read_text() == "three"


@pytest.mark.skipif(sys.platform != "linux", reason="only Linux exchanges two folders in one step")
def test_there_is_no_moment_without_a_release(tmp_path, monkeypatch):
    target = tmp_path / "out"
    release(target)

    def never(*_):
        raise AssertionError("the release was moved away first")

    monkeypatch.setattr(Path, "rename", never)
    release(target, "two")
    assert (target / "sub" / "a.txt").read_text() == "two"
    assert litter(target) == []


@pytest.mark.skipif(os.name != "posix", reason="symbolic links the POSIX way")
def test_a_linked_folder_is_released_into_where_it_lies(tmp_path):
    (tmp_path / "elsewhere").mkdir()
    (tmp_path / "out").symlink_to(tmp_path / "elsewhere")
    for text in ("one", "two"):
        release(tmp_path / "out", text)
        assert (tmp_path / "elsewhere" / "sub" / "a.txt").read_text() == text
        assert (tmp_path / "out").is_symlink()
        assert litter(tmp_path / "out") == ["elsewhere"]


def test_two_runs_into_one_folder_do_not_mix(tmp_path):
    target = tmp_path / "out"
    with release_folder(target) as folder:
        (folder / "a.txt").write_text("first")
        with pytest.raises(ReleaseFault, match="another run"), release_folder(target):
            pass
        write_manifest(folder, "0" * 64, "A")
    assert verify_manifest(target) == []


def test_foreign_files_are_never_deleted(tmp_path):
    target = tmp_path / "pictures"
    target.mkdir()
    (target / "holiday.jpg").write_text("sun")
    with pytest.raises(ReleaseFault, match="holds files but no release"), release_folder(target):
        pass
    release(tmp_path / "out")
    (tmp_path / "out" / "quote.pdf").write_text("1200")
    with pytest.raises(ReleaseFault, match=r"quote\.pdf"), release_folder(tmp_path / "out"):
        pass
    assert (target / "holiday.jpg").exists()
    assert (tmp_path / "out" / "quote.pdf").exists()
    with pytest.raises(ReleaseFault, match="is a file"), release_folder(target / "holiday.jpg"):
        pass


def test_disk_faults_are_one_sentence(tmp_path):
    target = tmp_path / "out"
    release(target)
    with pytest.raises(ReleaseFault, match="disk is full"), release_folder(target):
        raise OSError(28, "No space left on device")
    with pytest.raises(ReleaseFault, match="may not be written to"), release_folder(target):
        raise PermissionError(13, "Permission denied")
    assert verify_manifest(target) == []


def test_cautions_name_the_deadly_things(tmp_path):
    text = write_cautions(tmp_path).read_text()
    for word in (
        "60 V",
        "kill",
        "licensed engineer",
        "local codes",
        "swollen",
        "Swarf",
        "registration",
        "rated lifting",
    ):
        assert word in text
    assert len(CAUTIONS) >= 10

"""Where a file lies. SQLite's write-ahead log needs memory shared between processes: a local disk."""

import re
from collections.abc import Callable
from pathlib import Path

from meterlog.records.errors import RecordsError

# Types as the kernel writes them in mountinfo. "fuseblk" (a local disk) is not among them.
_SHARES = re.compile(r"nfs\d?|cifs|smb\d?|smbfs|9p|afs|ceph|fuse|fuse\..+")
_MOUNTS = Path("/proc/self/mountinfo")


def file_system(path: Path, mountinfo: Path = _MOUNTS) -> str:
    """The type of file system that `path` is (to be) on, "" where the machine does not say (not Linux)."""
    if not mountinfo.exists():
        return ""
    mounts = [_mount(line) for line in mountinfo.read_text(errors="surrogateescape").splitlines()]
    over = [(point, kind) for point, kind in mounts if path.resolve().is_relative_to(point)]
    # The longest wins, of equals the last: it lies over those mounted before it.
    return max(reversed(over), key=lambda mount: len(mount[0].parts))[1] if over else ""


def refuse_network_share(path: Path, kind_of: Callable[[Path], str] = file_system) -> None:
    """RecordsError if `path` lies on a file system that cannot carry the write-ahead log."""
    kind = kind_of(path)
    if _SHARES.fullmatch(kind):
        raise RecordsError(
            f"{path} lies on a network or user-space file system ({kind}), where SQLite can be damaged; "
            "choose a data folder on a local disk"
        )


def _mount(line: str) -> tuple[Path, str]:
    """Mount point and type of a line of mountinfo (Linux, proc_pid_mountinfo(5))."""
    before, _, after = line.partition(" - ")
    return Path(_plain(before.split()[4])), after.split()[0]


def _plain(text: str) -> str:
    r"""Spaces and the like are written there as \040."""
    return re.sub(r"\\(\d{3})", lambda found: chr(int(found.group(1), 8)), text)

"""What kind of drive a folder lies on: SQLite's locks do not hold on one shared over a network."""

from __future__ import annotations

import os
from pathlib import Path

from catalog.errors import NetworkDriveError

__all__ = ["ALLOW", "NETWORK_KINDS", "network_kind", "refuse_network"]

ALLOW = "GLOSTBOOK_NETWORK_DRIVE"
"""Set to "yes", a catalogue on a network drive is opened all the same, without write-ahead logging."""

NETWORK_KINDS = frozenset(
    {
        "9p",
        "afpfs",
        "afs",
        "ceph",
        "cifs",
        "davfs",
        "fuse.davfs2",
        "fuse.glusterfs",
        "fuse.rclone",
        "fuse.s3fs",
        "fuse.sshfs",
        "glusterfs",
        "lustre",
        "ncpfs",
        "nfs",
        "nfs4",
        "smb2",
        "smb3",
        "smbfs",
        "webdav",
    }
)
"""File systems reached over a network, by the names that Linux and macOS give them. SQLite's makers warn of
them: sqlite.org/useovernet.html and sqlite.org/wal.html ("does not work over a network filesystem")."""


def network_kind(folder: Path) -> str | None:
    """Give the file system's name where `folder`, or the nearest one above it, is on a network drive.

    Returns
    -------
    str or None : such as "nfs4"; None on a drive of this computer, or where nothing is told
    """
    import psutil

    place = folder.absolute()
    while not place.exists() and place != place.parent:
        place = place.parent
    place = Path(os.path.realpath(place))
    found = ""
    kind = ""
    for mounted in psutil.disk_partitions(all=True):
        # The longest mount point above the folder holds it; of two on one place the later covers the earlier.
        if len(mounted.mountpoint) >= len(found) and place.is_relative_to(mounted.mountpoint):
            found = mounted.mountpoint
            kind = "remote" if "remote" in mounted.opts.split(",") else mounted.fstype.lower()
    return kind if kind in NETWORK_KINDS or kind == "remote" else None


def refuse_network(folder: Path) -> bool:
    """Refuse a folder on a network drive, unless `ALLOW` is set; tell whether it is on one all the same.

    Raises
    ------
    NetworkDriveError
    """
    kind = network_kind(folder)
    if kind is None:
        return False
    if os.environ.get(ALLOW, "").strip().lower() not in {"yes", "1", "true"}:
        raise NetworkDriveError(str(folder), kind)
    return True

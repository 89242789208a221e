"""What can be told of a club's ledger from outside: its records, its server's clock, the rights one has."""

from __future__ import annotations

from collections.abc import Callable
from contextlib import closing
from datetime import UTC, datetime
from pathlib import Path
from tempfile import TemporaryDirectory

from underoak.ledger.backup import copy_faults, copy_ledger
from underoak.ledger.database import open_to_read
from underoak.ledger.doctor import Ailment
from underoak.model.club import ClubAddress

#: Clocks of two computers that differ by more than this give records a wrong day sooner or later.
CLOCK_S = 300.0
_KEEPER = "tell whoever looks after the club's server"


def _this_moment() -> datetime:
    return datetime.now(UTC)


def club_faults(address: ClubAddress) -> list[Ailment]:
    """What is wrong with the records: all of them are copied at one moment and looked over like a file's.

    Raises
    ------
    NoAnswer   when the club's ledger cannot be read
    """
    with TemporaryDirectory(prefix="underoak-") as folder:
        copy = Path(folder) / "copy.sqlite3"
        copy_ledger(address, copy)
        return [Ailment("ledger", fault, f"{_KEEPER}: it may need a backup") for fault in copy_faults(copy)]


def club_trouble(address: ClubAddress, moment: Callable[[], datetime] = _this_moment) -> list[Ailment]:
    """What is not wrong yet: more rights than are needed, a road that others may read, clocks that differ."""
    with closing(open_to_read(address)) as ledger:
        boss, now = ledger.execute(
            "SELECT current_setting('is_superuser') = 'on', extract(epoch FROM clock_timestamp())"
        ).fetchone()
    ailments = []
    if boss:
        what = f"you come to the club's ledger as {address.user}, who may do anything on its server"
        ailments.append(Ailment("rights", what, "come as somebody with the rights in docs/club.md"))
    if not (address.encrypted or address.is_here):
        what = "nothing is encrypted on the way to the club's server: others may read spots and password"
        ailments.append(Ailment("rights", what, "take sslmode=disable out of the address"))
    if abs(moment().timestamp() - now) > CLOCK_S:
        what = f"the club's server and this computer differ by {abs(moment().timestamp() - now) / 60:.0f} min"
        ailments.append(Ailment("clock", what, "set the clock that is wrong"))
    return ailments

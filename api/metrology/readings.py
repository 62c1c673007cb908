"""One reading of a display as it was taken: which test, which pieces, where they stood, what was shown."""

from dataclasses import dataclass
from datetime import datetime
from typing import Annotated

from api.metrology.mass import Mass
from api.metrology.terms import Code, Line, Many, Minutes, Note, Placed, Position, TestName, Whole


@dataclass(frozen=True, slots=True)
class Reading:
    """A reading in the order taken. Readings are never deleted; one that does not count says why in `excluded`.

    `before` and `added` belong to discrimination: the indication before, and the small load added to get the indication.
    `change_over_added` is what was added to the load until the display went one step up. `tare` is what the tare device
    had balanced out, `tare_entered` says that its value was typed and not weighed; the load is then the net load.
    `minutes` counts from when the load was placed: until this reading (creep), until it was taken off (return to zero).
    `substitution` is the number of the earlier reading whose load a substitute load stands for; the pieces stand on top
    of it, and `before` is what the substitute load alone showed. `base` is the number of the reading of the base load to
    which pieces were then added (difference).
    """

    seq: Whole
    test: TestName
    indication: Mass
    load: Mass | None = None
    pieces: Annotated[tuple[Code, ...], Many(60)] = ()
    placed: Placed | None = None
    position: Position | None = None
    stable: bool | None = None
    at: datetime | None = None
    range_selected: Whole | None = None
    before: Mass | None = None
    added: Mass | None = None
    change_over_added: Mass | None = None
    tare: Mass | None = None
    tare_entered: bool | None = None
    minutes: Minutes | None = None
    substitution: Whole | None = None
    base: Whole | None = None
    excluded: Line | None = None
    remark: Note | None = None


@dataclass(frozen=True, slots=True)
class Phase:
    """All readings taken before anything was touched (as found), or after the last change (as left)."""

    readings: Annotated[tuple[Reading, ...], Many(200, 1)]
    switched_off_and_on: bool | None = None

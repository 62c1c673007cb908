"""What each of the twenty-three scales is like when its two years begin. Stories change some of them on the way."""

from typing import Final

from api.demo.behaviour import Character

_BED: Final = 0.9
_CHAIR: Final = 0.45
_INFANT: Final = 0.4
_PLATFORM: Final = 0.4

CHARACTERS: Final[dict[str, Character]] = {
    "A-01": Character(100, 80, {"front left": 300}),
    "A-02": Character(-80, -60, {"back right": -250}),
    # the steady drifter: about 0.02 kg low at 200 kg in the beginning, 0.12 kg low after two years, and still passing
    "A-04": Character(-100, -250, spread_divisions=0.15, hysteresis_divisions=0.05),
    "A-07": Character(60, 20, {"front right": 200}, spread_divisions=0.2),
    "A-09": Character(50, 30, {"back left": 200}),
    "A-11": Character(60, 30, spread_divisions=0.2),
    "A-13": Character(-120, -60, {"back right": -500}),
    # the fast drifter: adjusted at every visit
    "B-02": Character(1020, 1620, spread_divisions=0.2),
    "B-08": Character(80, 60, {"back left": 300}),
    "C-02": Character(-60, -100, {"left": -300}, _CHAIR),
    "C-05": Character(-80, -60, {"front": 250}, _CHAIR),
    "C-06": Character(90, 40, {"right": 200}, _CHAIR),
    "E-02": Character(400, 300, {"foot left": 1800}, _BED),
    "E-04": Character(-500, -300, {"head right": -2200}, _BED),
    "E-06": Character(1500, 0, {"head left": -6000}, _BED),
    "G-01": Character(40, 30, {"head left": 150}, _INFANT),
    "G-03": Character(-30, -20, {"foot right": 200}, _INFANT),
    "G-05": Character(60, 40, {"foot left": -150}, _INFANT),
    "D-01": Character(90, 60, {"front left": 300}, _PLATFORM),
    # binds a little on its ramps: what it shows depends on whether the load goes up or down
    "D-03": Character(-150, -80, {"back right": -400}, _PLATFORM, hysteresis_divisions=1.4),
    "E-10": Character(120, 60, {"support 3": -700}, _PLATFORM),
    "J-01": Character(60, 40, {"front right": 200}, spread_divisions=0.25),
    "H-01": Character(8, 10, {"front left": 15}, spread_divisions=1.2, hysteresis_divisions=0.2, creep_divisions=1.0),
}

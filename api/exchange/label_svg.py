"""A label as a drawing for a label printer: 62 mm by 30 mm, black on white, nothing that a thermal printer cannot show.

Every text is escaped; one that would not fit is drawn smaller, never cut. The address of the scale's page stands as text.
"""

from datetime import date
from typing import Final
from xml.sax.saxutils import escape, quoteattr

from api.records.label import LabelRead

WIDTH_MM: Final = 62
HEIGHT_MM: Final = 30
_MARGIN: Final = 2.5
_ROOM: Final = WIDTH_MM - 2 * _MARGIN
_HEAD: Final = "Cambria, 'Palatino Linotype', 'Liberation Serif', Georgia, serif"
_TEXT: Final = "'Segoe UI', Arial, 'Liberation Sans', sans-serif"
_FIGURES: Final = "Consolas, Menlo, 'DejaVu Sans Mono', 'Liberation Mono', monospace"
_MONTHS: Final = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")
_WIDE: Final = {_HEAD: 0.62, _TEXT: 0.56, _FIGURES: 0.61}  # of its size, how wide a capital or figure is in these faces
# A beam with its notches, a pan and a poise: the mark of the site, drawn to stand at the right end of the band.
_MARK: Final = "M52 5.4H60M54.2 3.4v4M56.2 4.4v2M57.6 4.4v2M59 4.4v2"
_UNLESS: Final = "Not if it was moved, dropped or repaired since."


def label_svg(label: LabelRead) -> str:
    """Return a label as an SVG drawing."""
    stop = label.says == "do not use"
    band, ink = ("#000", "#fff") if stop else ("#fff", "#000")
    lines = [
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{WIDTH_MM}mm" height="{HEIGHT_MM}mm" '
        f'viewBox="0 0 {WIDTH_MM} {HEIGHT_MM}" role="img" aria-label={quoteattr(_plain(_headline(label)))}>',
        f'<rect x="0.3" y="0.3" width="{WIDTH_MM - 0.6}" height="{HEIGHT_MM - 0.6}" rx="1.2" fill="#fff" stroke="#000" '
        'stroke-width="0.4"/>',
        f'<path d="M0.3 9.2V1.5a1.2 1.2 0 0 1 1.2-1.2h59a1.2 1.2 0 0 1 1.2 1.2v7.7z" fill="{band}" stroke="#000" '
        'stroke-width="0.4"/>',
        f'<path d="{_MARK}" fill="none" stroke="{ink}" stroke-width="0.45"/>',
        _line(_headline(label), 6.4, 4.2, _HEAD, ink, _ROOM - 9),
        _line(label.device, 15.2, 5.6, _HEAD),
        _line(f"Tested {_day(label.tested_on)} by {label.by}", 18.9, 2.8),
        _line(f"Due {_day(label.due)}" if label.due else "", 22.3, 2.8),
        _line("Tag it, take it away, tell a person." if stop else _UNLESS, 25.2, 2.2),
        _line(f"{label.label}  {label.address}", 28.4, 2.4, _FIGURES),
        "</svg>",
    ]
    return "\n".join(line for line in lines if line)


def _headline(label: LabelRead) -> str:
    if label.says == "do not use":
        return "DO NOT USE"
    if label.up_to is not None:
        return f"Use up to {label.up_to.shown} only"
    return "Calibrated"


def _line(text: str, y: float, size: float, face: str = _TEXT, ink: str = "#000", room: float = _ROOM) -> str:
    if not text:
        return ""
    said = _plain(text)
    fits = min(size, room / (len(said) * _WIDE[face]))
    drawn = f'x="{_MARGIN}" y="{y:g}" font-family="{face}" font-size="{fits:.2f}" fill="{ink}"'
    return f"<text {drawn}>{escape(said)}</text>"


def _plain(text: str) -> str:
    """A text without what cannot be seen or is no character of XML."""
    return "".join(character if character.isprintable() else "\N{REPLACEMENT CHARACTER}" for character in text)


def _day(day: date) -> str:
    return f"{day.day} {_MONTHS[day.month - 1]} {day.year}"

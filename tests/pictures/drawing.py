"""Conversation and batch sheet as SVG, from the text that the program prints. Pure."""

import re
from dataclasses import dataclass
from html import escape
from textwrap import wrap

PAPER, INK, SOFT, LINE = "#fbf8f1", "#1d1a16", "#6b6252", "#d8cfbd"
COOK, STATION = "#eee3cb", "#2f5d73"
SANS = "system-ui, -apple-system, 'Segoe UI', 'DejaVu Sans', 'Liberation Sans', sans-serif"
MONO = "ui-monospace, 'DejaVu Sans Mono', 'Liberation Mono', Consolas, monospace"

_PRINTED = re.compile(r"(?P<at>[\d:]+)  (?P<who>cook|crumbcall) +(?P<text>.+)")
_WIDTH = 860
_COOK_X, _STATION_X, _RIGHT = 78, 322, 842
_STEP, _PAD = 20, 9
_COOK_CHARS, _STATION_CHARS = 28, 64
_NARROW = frozenset("fijlrt.,:;'!|() ")
"""Letters of about half the width of the others."""
_PAUSE_S = 30
"""After a longer pause there is a little room."""


@dataclass(slots=True)
class Turn:
    """What was said and answered at one moment."""

    at: str
    said: str = ""
    replies: str = ""


def turns(printed: str) -> list[Turn]:
    """The turns of a printed dialogue; ValueError for a line that is not of one."""
    found: list[Turn] = []
    for line in printed.splitlines():
        match = _PRINTED.fullmatch(line)
        if match is None:
            raise ValueError(f"not a line of a dialogue: {line!r}")
        at, who, text = match.groups()
        if who == "cook" or not found or found[-1].at != at:
            found.append(Turn(at))
        if who == "cook":
            found[-1].said = text
        else:
            found[-1].replies = f"{found[-1].replies} {text}".strip()
    return found


def conversation_svg(printed: str) -> str:
    """Cook on the left, station on the right, the time before both."""
    parts: list[str] = []
    y, before = 52.0, 0
    for turn in turns(printed):
        now = _seconds(turn.at)
        y += 12 if now - before > _PAUSE_S else 0
        before = now
        parts.append(
            f'<text x="22" y="{y + _PAD + 15:.0f}" font-size="13" font-family="{MONO}" fill="{SOFT}">'
            f"{turn.at}</text>"
        )
        said, replies = wrap(turn.said, _COOK_CHARS), wrap(turn.replies, _STATION_CHARS)
        if said:
            parts += _bubble(said, _COOK_X, y, COOK, INK)
        if replies:
            parts += _bubble(replies, _STATION_X, y, STATION, "#ffffff")
        y += _STEP * max(len(said), len(replies)) + 2 * _PAD + 6
    head = [
        _label(_COOK_X + 12, 32, "the cook says"),
        _label(_STATION_X + 12, 32, "Crumbcall answers, or speaks by itself when time is up"),
    ]
    return _page(_WIDTH, y + 16, [*head, *parts], "A batch, said and answered")


def _bubble(lines: list[str], x: float, y: float, fill: str, ink: str) -> list[str]:
    width = min(_RIGHT - x, max(map(_width, lines)) + 26)
    height = _STEP * len(lines) + 2 * _PAD - 4
    texts = [
        f'<text x="{x + 12:.0f}" y="{y + _PAD + 14 + _STEP * row:.0f}" fill="{ink}">{escape(line)}</text>'
        for row, line in enumerate(lines)
    ]
    return [
        f'<rect x="{x:.0f}" y="{y:.0f}" width="{width:.0f}" height="{height:.0f}" rx="9" fill="{fill}"/>',
        *texts,
    ]


def _width(text: str) -> float:
    """Width of a text of 15 px, as wide as it may come out in any of the fonts."""
    return sum(5.6 if letter in _NARROW else 9.4 for letter in text)


def _label(x: float, y: float, text: str) -> str:
    return f'<text x="{x}" y="{y}" font-size="13" fill="{SOFT}">{escape(text)}</text>'


def _seconds(at: str) -> int:
    total = 0
    for part in at.split(":"):
        total = total * 60 + int(part)
    return total


def sheet_svg(text: str) -> str:
    """A printed sheet on paper: its title large, the head of the table ruled, the cautions small."""
    title, *lines = text.rstrip().splitlines()
    cautions = [line for line in lines if line.startswith("- ")]
    body = [line for line in lines if not line.startswith("- ")]
    while body and not body[-1]:
        body.pop()
    char, left, y = 7.25, 34, 48.0
    width = max(map(len, body)) * char + 2 * left
    parts = [f'<text x="{left}" y="{y}" font-size="22" font-weight="600">{escape(title)}</text>']
    y += 14
    table = False
    for line in body:
        y += 17 if line else 10
        head = bool(re.match(r"time +since", line))
        table = table or head
        if not line:
            continue
        label, colon, rest = line.partition(":")
        if colon and not table:
            shown = f'<tspan fill="{SOFT}">{escape(label)}:</tspan>{escape(rest)}'
        else:
            shown = escape(line)
        weight = ' font-weight="600"' if head else ""
        parts.append(
            f'<text x="{left}" y="{y:.0f}" font-size="12" font-family="{MONO}" xml:space="preserve"{weight}>'
            f"{shown}</text>"
        )
        if head:
            parts.append(f'<path d="M{left} {y + 5:.0f}H{width - left:.0f}" stroke="{LINE}"/>')
    y += 16
    parts.append(f'<path d="M{left} {y:.0f}H{width - left:.0f}" stroke="{LINE}"/>')
    y += 6
    for caution in cautions:
        for row, line in enumerate(wrap(caution, int((width - 2 * left) / 5.6), subsequent_indent="  ")):
            y += 14 if row else 17
            indent = 8 if row else 0
            parts.append(
                f'<text x="{left + indent}" y="{y:.0f}" font-size="10.5" fill="{SOFT}">'
                f"{escape(line.strip())}</text>"
            )
    return _page(width, y + 30, parts, title)


def _page(width: float, height: float, parts: list[str], title: str) -> str:
    opening = (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {width:.0f} {height:.0f}" width="{width:.0f}" '
        f'height="{height:.0f}" font-family="{SANS}" font-size="15" fill="{INK}">'
    )
    paper = (
        f'<rect x="0.5" y="0.5" width="{width - 1:.0f}" height="{height - 1:.0f}" rx="10" fill="{PAPER}" '
        f'stroke="{LINE}"/>'
    )
    return "\n".join([opening, f"<title>{escape(title)}</title>", paper, *parts, "</svg>"]) + "\n"

"""Five hundred texts that nobody at a bench would write, for every place that takes a text.

Some are listed, because somebody once broke something with them; the others are put together from
the same pieces, by a seed. None of them may steer a terminal, become markup or raise anything.
"""

from __future__ import annotations

import random
import unicodedata

NUMBER = 500
SEED = 20260301

MARKUP = (
    "<script>alert(1)</script>",
    "<img src=x onerror=alert(1)>",
    "</title><svg onload=alert(1)>",
    "</style><style>*{display:none}</style>",
    "</textarea></td></tr></table><h1>hatch",
    "\"' onmouseover=alert(1) x='",
    "javascript:alert(1)",
    "&lt;b&gt; &#60;i&#62; &#x3c;u&#x3e;",
    "<!-- <![CDATA[ ]]> -->",
    "<a href='http://example.org/'>x</a>",
    "@import url(//example.org)",
    "<base href=//example.org><meta http-equiv=refresh content=0>",
    "{{ 7 * 7 }} {% raw %} {# gone #}",
    "${7*7} #{7*7} <%= 7*7 %>",
    "[/b] part",
    "[/]",
    "[red]a [@click=app.bell()]b[/]",
    "[link=http://example.org]x[/link]",
    "\\[esc] $var [[double]] [bold",
    "`a` **b** __c__ $\\frac{1}{2}$",
)
STATEMENTS = (
    "'; DROP TABLE input; --",
    "x' OR '1'='1",
    '"); DELETE FROM event; --',
    "1; ATTACH DATABASE '/tmp/x' AS x",
    "=cmd|'/c calc'!A1",
    "+1+1",
    "-2+3",
    "@SUM(A1:A9)",
    "\t=1+1",
    "%s %n %d %(x)s {0} {x!r:>9999}",
    "$(reboot) `reboot` ; reboot",
    "../../etc/passwd",
    "con.txt",
    "nan",
    "None",
    "'''\"\"\"",
    "a,b;c\td|e",
    "--help",
    "",
    " ",
)
STEERING = (
    "\x1b[2J\x1b[H\x1b[38;5;201mred",
    "\x1b]0;title\x07",
    "\x1b]52;c;ZXZpbA==\x07",
    "\x1b]8;;http://example.org\x1b\\x\x1b]8;;\x1b\\",
    "\x1bP+q544e\x1b\\",
    "\x1bP1$r0m\x1b\\",
    "\x1b_Gi=1,a=q;AAAA\x1b\\",
    "\x1b^private\x1b\\",
    "\x1bXstring\x1b\\",
    "\x1b[?1049h\x1b[?1003h\x1b[?2004l",
    "\x1b[6n\x1b[c\x1b[>c",
    "\x1b[9999;9999H\x1b[99999b",
    "\x1bc\x1b(0\x1b#8\x0e\x0f",
    "\x1b",
    "\x9b2J\x9b38;5;201m",
    "\x9d0;title\x9c",
    "\x90q\x9c",
    "\x85\x84\x8d\x8e",
    "\x00\x01\x02\x7f",
    "\x07\x08\x08\x08\x0b\x0c",
    "line\nbreak\r\nand\rback\ttab",
    "\u2028line\u2029paragraph",
)
TURNING = (
    "a\u202eb\u202c",
    "\u2066a\u2067b\u2068c\u2069",
    "\u200e\u200f\u061c",
    "zero\u200bwidth\u200c\u200d\ufeff\u2060",
    "\u180e\u034f\u115f\u3164\uffa0",
    "soft\u00adhyphen",
    "\ufff9a\ufffab\ufffb",
    "\U000e0041\U000e0042\U000e007f",
    "\ufe0f\ufe0e",
    "\ue000\U0010fffe\ufdd0",
    "e" + "\u0301" * 40,
    "\u8239" * 60,
    "\u05e9\u05dc\u05d5\u05dd \u0645\u0631\u062d\u0628\u0627",
    "\U0001f6f6\u200d\u2642\ufe0f\U0001f1e9\U0001f1ea",
    "\u212b\u2126\ufb01\u1e9b\u0323",
    "\u0f3a\u0f3b \u2400\u241b \uff1cscript\uff1e",
)
LONG = (
    "x" * 10_000,
    "<b>" * 3_400,
    "\x1b[31m" * 2_000,
    "hatch cover " * 850,
    "\u202e" * 10_000,
    "[" * 10_000,
    "\u8239\u0301\x00" * 3_300,
)
LISTED = MARKUP + STATEMENTS + STEERING + TURNING + LONG
LONE_SURROGATE = "\ud800\udfff"
"""What a file name that is no UTF-8 becomes; no text file and no JSON can hold it."""

_PIECES = (
    *("<", ">", '"', "'", "&", "/", "=", "`", "{{", "}}", "{%", "--", ";", "[", "]", "[/", "\\"),
    *("script", " on", "style", "svg", "%s", "%n", "$", "\x1b[", "\x1b]", "\x1bP", "\x1b\\"),
    *("\x9b", "\x9d", "\x90", "\x9c", "\x07", "\x00", "\x7f", "\r", "\n", "\u202e", "\u2066"),
    *("\u2069", "\u200b", "\ufeff", "38;5;201m", "2J", "?1049h", "\u0301", "\u8239", "a", "0", " "),
)


def _put_together(chance: random.Random) -> str:
    pieces = (
        chance.choice(_PIECES) if chance.random() < 0.7 else chr(chance.randrange(1, 0x3000))
        for _ in range(chance.randrange(1, 60))
    )
    return "".join(pieces)


def hostile_strings() -> tuple[str, ...]:
    """Give all of them, the listed ones first; the same ones every time."""
    chance = random.Random(SEED)
    generated = (_put_together(chance) for _ in range(NUMBER - len(LISTED)))
    return (*LISTED, *generated)


def steering_in(text: str, *, lines: bool = True) -> list[str]:
    """List what could steer a terminal or turn a line around; line ends may be allowed."""
    return [
        character
        for character in text
        if unicodedata.category(character) in ("Cc", "Cf", "Cs", "Zl", "Zp")
        and not (lines and character == "\n")
    ]

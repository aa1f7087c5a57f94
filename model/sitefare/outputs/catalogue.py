"""How is a label said in another language? By the gettext catalogues in `locale`.

A catalogue is `locale/LANGUAGE/LC_MESSAGES/sitefare.po`, read as it stands: nothing is compiled, so
nothing goes stale. An entry marked fuzzy is a translation that no reader of the language has
confirmed; it is used, and the document says so. Text that a catalogue lacks stays English.

An entry may hold placeholders, `Cost, {currency} a person-day`. What a placeholder stands for is
told by its name (`KINDS`; any other is words), and is itself translated where
the catalogue knows it.
"""

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from functools import cache
from pathlib import Path

from babel import Locale, localedata
from babel.messages.catalog import Catalog as Entries
from babel.messages.pofile import PoFileError, read_po

from sitefare.errors import RunError
from sitefare.outputs.dates import month_and_year

LOCALE = Path(__file__).parent / "locale"

#: The language of the sentences of every document.
SOURCE = "en"

NUMBER = r"[−+-]?\d(?:[\d.,\u202f]*\d)?"

#: What a placeholder stands for, by its name without digits; any other is words.
KINDS = {
    "currency": r"[A-Z]{3}",
    "date": r"\d{4}-\d{2}(?:-\d{2})?",
    "letter": "[A-Za-z]",
    "number": NUMBER,
    "target": r"#[^)\s]+",
    "figure": rf"(?:[−+-]?[A-Z]{{3}} )?{NUMBER}(?: (?:[A-Z]{{3}}|%))?",
}

#: Placeholders whose value a line must not part: an amount keeps its currency, a range its unit.
HELD = ("figure", "span", "base")

#: No-break space.
NBSP = "\u00a0"

PLACEHOLDER = re.compile(r"\{([a-z]+)(\d*)\}")

#: Spaces that do not matter in a label; the narrow one parts thousands and stays.
SPACES = re.compile(r"[ \n\t\u00a0]+")

#: Marks that keep a run of text in its own direction: left to right, right to left, their end.
LEFT, RIGHT, END = "\u2066", "\u2067", "\u2069"

ARABIC_OR_HEBREW = re.compile(r"[\u0590-\u08ff\ufb1d-\ufdff\ufe70-\ufeff]")


@dataclass(frozen=True)
class Template:
    """An entry with placeholders: the text it fits, and what is said instead."""

    pattern: re.Pattern[str]
    said: str


@dataclass(frozen=True)
class Catalogue:
    """One language's labels. `reviewed` is whether a reader has confirmed every one."""

    language: str
    exact: Mapping[str, str]
    templates: tuple[Template, ...]
    reviewed: bool
    _known: dict[str, str | None] = field(default_factory=dict, repr=False)

    def said(self, text: str) -> str | None:
        """Return a label in this language, or None where the catalogue lacks it."""
        if text not in self._known:
            self._known[text] = self._looked_up(SPACES.sub(" ", text).strip())
        return self._known[text]

    def _looked_up(self, text: str) -> str | None:
        """Return what an entry says, or the one that differs in the case of its first letter.

        A lone letter is a mark or a unit, of which the case is all: G is no gram.
        """
        found = self._entry(text)
        if found is not None or len(text) < 2:  # noqa: PLR2004
            return found
        other = self._entry(text[0].swapcase() + text[1:])
        if not other:
            return None
        return (other[0].lower() if text[0].islower() else other[0].upper()) + other[1:]

    def _entry(self, text: str) -> str | None:
        """Return what an entry says, its placeholders filled."""
        if text in self.exact:
            return self.exact[text]
        for template in self.templates:
            match = template.pattern.fullmatch(text)
            if match:
                return self._filled(template.said, match.groupdict())
        return None

    def _filled(self, said: str, values: Mapping[str, str]) -> str:
        """Put what the placeholders stand for into a translation."""

        def one(match: re.Match[str]) -> str:
            kind, value = match[1], values[match[1] + match[2]]
            if kind == "date":
                return month_and_year(value, self.language)
            if kind == "target":
                return value
            if kind in HELD:
                value = value.replace(" ", NBSP)
            return self.set_apart(value if kind in KINDS else self.said(value) or value)

        return PLACEHOLDER.sub(one, said)

    def set_apart(self, text: str) -> str:
        """Keep text of the other direction together inside a right-to-left line."""
        if not right_to_left(self.language) or ARABIC_OR_HEBREW.search(text) or text.isdigit():
            return text
        return f"{LEFT}{text}{END}"


def languages() -> tuple[str, ...]:
    """Return the languages a document may be asked in: English and those with a catalogue."""
    others = (path.parts[-3] for path in LOCALE.glob("*/LC_MESSAGES/sitefare.po"))
    return (SOURCE, *sorted(others))


def check_language(language: str) -> None:
    """Refuse a language without a catalogue, and a region that is not known.

    Raises
    ------
    RunError
        Naming the languages accepted.
    """
    known = localedata.locale_identifiers()
    if language.replace("-", "_") in known and base(language) in languages():
        return
    msg = (
        f"language '{language}' has no catalogue; {', '.join(languages())} are accepted, "
        "also with a region, such as fr_CA"
    )
    raise RunError(msg)


def base(language: str) -> str:
    """Return a language without its region: fr for fr_CA, ar for ar-JO."""
    return re.split("[-_]", language)[0]


@cache
def right_to_left(language: str) -> bool:
    """Say whether a language is written from right to left."""
    return str(Locale.parse(language.replace("-", "_")).text_direction) == "rtl"


def translate(text: str, language: str) -> str:
    """Return a label in a language, in English where its catalogue lacks it."""
    return catalogue(language).said(text) or text


@cache
def catalogue(language: str) -> Catalogue:
    """Read the catalogue of a language; English has an empty one.

    Raises
    ------
    RunError
        If the file is no gettext catalogue.
    """
    path = LOCALE / base(language) / "LC_MESSAGES" / "sitefare.po"
    if not path.is_file():
        return Catalogue(language, {}, (), reviewed=True)
    entries = [message for message in read(path) if message.id and message.string]
    said = {in_context(str(m.id), m.context): str(m.string) for m in entries}
    templates = tuple(Template(pattern(key), said[key]) for key in templates_of(said))
    return Catalogue(language, said, templates, not any(m.fuzzy for m in entries))


def in_context(key: str, context: str | None) -> str:
    """Return the key of an entry that means something else where it stands, as gettext does."""
    return f"{context}\x04{key}" if context else key


def templates_of(entries: Iterable[str]) -> list[str]:
    """Return the entries with placeholders, the most particular first."""
    marked = [key for key in entries if PLACEHOLDER.search(key)]
    return sorted(marked, key=lambda key: (-len(PLACEHOLDER.sub("", key)), key))


def read(path: Path) -> Entries:
    """Return the entries of a .po file."""
    with path.open("rb") as file:
        try:
            return read_po(file, abort_invalid=True)
        except (PoFileError, ValueError) as error:
            msg = f"{path.name} of '{path.parts[-3]}' is no gettext catalogue: {error}"
            raise RunError(msg) from error


@cache
def pattern(key: str) -> re.Pattern[str]:
    """Return the expression that fits the texts an entry with placeholders stands for."""
    parts: list[str] = []
    end = 0
    for match in PLACEHOLDER.finditer(key):
        parts.append(re.escape(key[end : match.start()]))
        parts.append(f"(?P<{match[1]}{match[2]}>{KINDS.get(match[1], '.+?')})")
        end = match.end()
    return re.compile("".join(parts) + re.escape(key[end:]))

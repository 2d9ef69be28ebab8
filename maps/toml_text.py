"""What a TOML file says, and on which line it says it."""

import tomllib
from pathlib import Path
from typing import Any

from suitability.errors import InputError

MOST_BYTES = 256 * 1024  # a farm file is a page of text; anything this big is another file
LONGEST_VALUE_LINES = 400

Place = tuple[str | int, ...]


def read_toml(path: Path) -> tuple[dict[str, Any], dict[Place, int]]:
    """Read the document, and the line on which each table and key stands.

    Raises
    ------
    InputError : no such file, a folder, not text, or not TOML (with the line).
    """
    text = _text_of(path)
    try:
        document = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise InputError(_syntax_message(path, text, str(error))) from None
    except RecursionError:
        raise InputError(
            f"{path} cannot be read: its lists are nested too deeply. Is it a farm file?"
        ) from None
    return document, lines_of(text)


def _text_of(path: Path) -> str:
    cure = "Name the farm file, such as farm.toml; 'suitability new DIR' writes one."
    try:
        if path.is_dir():
            raise InputError(f"{path} is a folder, a farm file was expected. {cure}")
        if not path.exists():
            raise InputError(f"There is no file {path}. {cure}")
        with path.open("rb") as file:
            raw = file.read(MOST_BYTES + 1)
    except OSError as error:
        raise InputError(f"{path} cannot be read: {error.strerror}. {cure}") from None
    if len(raw) > MOST_BYTES:
        raise InputError(f"{path} is larger than {MOST_BYTES // 1024} KB: not a farm file. {cure}")
    # Windows editors write a mark at the start that names the encoding; without it, it is UTF-8.
    marked_utf16 = raw.startswith((b"\xff\xfe", b"\xfe\xff"))
    try:
        text = raw.decode("utf-16" if marked_utf16 else "utf-8-sig")
    except UnicodeDecodeError as error:
        if marked_utf16 or b"\0" in raw:
            raise InputError(f"{path} is not a text file. {cure}") from None
        line = raw.count(b"\n", 0, error.start) + 1
        shown = raw.split(b"\n")[line - 1].decode("latin-1").strip()
        raise InputError(
            f"{path}, line {line}: a letter that is not UTF-8: {shown!r}. "
            "Open the file in a text editor and save it with encoding UTF-8."
        ) from None
    if "\0" in text:
        raise InputError(f"{path} is not a text file. {cure}")
    return text.replace("\r\n", "\n")


def _syntax_message(path: Path, text: str, problem: str) -> str:
    """Plain words for what the TOML reader found, with the line it stands on."""
    problem, _, place = problem.rpartition(" (at ")
    if not problem:
        problem, place = place, ""
    number = next((int(w.strip(",)")) for w in place.split() if w.strip(",)").isdigit()), 0)
    if place.startswith("end of document"):
        number = text.count("\n") + 1
    lines = text.split("\n")
    shown = lines[number - 1].strip() if 0 < number <= len(lines) else ""
    if "Cannot overwrite" in problem or "Cannot declare" in problem:
        problem, cure = "this key or [table] stands twice", "Keep one of the two."
    elif "table declaration" in problem:
        cure = 'A name with a blank or a dot stands in quotes: [field."North 40"].'
    elif "escape" in problem or "\\" in shown:
        problem = "a backslash in double quotes"
        cure = "In paths write / instead of \\, or put the path in single quotes."
    else:
        cure = (
            'Text, file names and month-days stand in quotes: file = "fields.gpkg", '
            'opens = "05-15"; numbers, true and false stand without.'
        )
    where = f", line {number}" if number else ""
    seen = f" in: {shown[:80]}" if shown else ""
    return f"{path}{where}: {problem}{seen}\n{cure}"


def lines_of(text: str) -> dict[Place, int]:
    """Line (from 1) of each table and key of a valid TOML text, by its path of keys.

    The TOML reader itself says where a statement ends: lines are added until they parse. A value
    spread over very many lines ends the search; what follows then has no line.
    """
    found: dict[Place, int] = {}
    prefix: Place = ()
    waiting: list[str] = []
    start = 0
    for number, line in enumerate(text.split("\n"), start=1):
        if not waiting:
            start = number
            if not line.strip() or line.lstrip().startswith("#"):
                continue
        waiting.append(line)
        try:
            statement = tomllib.loads("\n".join(waiting))
        except tomllib.TOMLDecodeError:
            if len(waiting) > LONGEST_VALUE_LINES:
                return found
            continue
        waiting = []
        if line.lstrip().startswith("[") and start == number:
            prefix = _header(statement, found)
            found.setdefault(prefix, start)
        else:
            _record(statement, prefix, start, found)
    return found


def _header(statement: dict[str, Any], found: dict[Place, int]) -> Place:
    place: Place = ()
    value: Any = statement
    while value:
        if isinstance(value, list):
            value = value[0]
            index = 0
            while (*place, index) in found:
                index += 1
            place = (*place, index)
            continue
        key = next(iter(value))
        value = value[key]
        place = (*place, key)
    return place


def _record(value: Any, place: Place, line: int, found: dict[Place, int]) -> None:
    if place:
        found.setdefault(place, line)
    if isinstance(value, dict):
        for key, inner in value.items():
            _record(inner, (*place, key), line, found)
    elif isinstance(value, list):
        for index, inner in enumerate(value):
            _record(inner, (*place, index), line, found)

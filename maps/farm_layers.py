"""Which layers farm.toml names, and farm.toml with gathered ones written in, comments kept."""

import shutil
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

import tomlkit
from pydantic import ValidationError
from tomlkit.exceptions import TOMLKitError
from tomlkit.items import Table

from layers.gathered import read_provenance
from maps import farm_faults
from maps.farm_file import TABLES, FarmFile, FieldsTable, read_farm_file
from maps.toml_text import read_toml
from suitability.errors import InputError

DATA_DIR = "data"  # beside farm.toml


def fields_of(path: Path) -> FieldsTable:
    """What the farm file at ``path`` says of its outlines.

    The rest of the file is checked too, unless it names gathered files that are gone: these are to
    be gathered anew.

    Raises
    ------
    InputError : the farm file cannot be used.
    """
    document, lines = read_toml(path)
    folder = path.resolve().parent
    if not any(_gone(folder, document.get(layer)) for layer in TABLES):
        return read_farm_file(path).fields
    try:
        only = {key: document[key] for key in ("fields",) if key in document}
        return FarmFile.model_validate(only, context={"folder": folder}).fields
    except ValidationError as error:
        faults = [farm_faults.in_words(e, TABLES) for e in error.errors()]
        raise InputError(farm_faults.message(path, faults, lines)) from None


def own_layers(path: Path, layers: Sequence[str]) -> dict[str, str]:
    """Layers for which farm.toml names files that were not gathered, with the first such name."""
    document, _ = read_toml(path)
    folder = path.resolve().parent
    ours = {
        f"{DATA_DIR}/{name}"
        for row in read_provenance(folder / DATA_DIR).values()
        for name in row.get("named", ())
    }
    found = {}
    for layer in layers:
        value = document.get(layer)
        strangers = [n for n in _names(value) if n not in ours and not _gone(folder, {"file": n})]
        if strangers:
            found[layer] = strangers[0]
    return found


def write_layers(path: Path, gathered: Mapping[str, Sequence[str]], said: str) -> bool:
    """Name gathered files in farm.toml; whether it had to be changed.

    Parameters
    ----------
    path : the farm file; changed whole or not at all, and only where the result can be read.
    gathered : layer -> names within the data folder.
    said : a comment above each new table.

    Raises
    ------
    InputError : the farm file cannot be written, or would not be one any more.
    """
    target = path.resolve()
    raw = target.read_bytes()
    encoding = "utf-16" if raw.startswith((b"\xff\xfe", b"\xfe\xff")) else "utf-8"
    if raw.startswith(b"\xef\xbb\xbf"):
        encoding = "utf-8-sig"
    old = raw.decode(encoding)
    windows = "\r\n" in old
    try:
        document = tomlkit.parse(old.replace("\r\n", "\n"))
    except TOMLKitError as error:
        raise InputError(f"{path} cannot be changed: {error}.") from None
    for layer, names in gathered.items():
        _set(document, layer, [f"{DATA_DIR}/{name}" for name in names], said)
    text = tomlkit.dumps(document)
    text = text.replace("\n", "\r\n") if windows else text
    if text == old:
        return False
    temporary = target.with_name(f".{target.name}.new")
    try:
        temporary.write_bytes(text.encode(encoding))
        shutil.copymode(target, temporary)
        read_farm_file(temporary)
        temporary.replace(target)
    except OSError as error:
        raise InputError(
            f"{path} cannot be changed ({error.strerror}). The files lie in {DATA_DIR}; name them "
            "in it yourself."
        ) from None
    finally:
        temporary.unlink(missing_ok=True)
    return True


def _set(document: tomlkit.TOMLDocument, layer: str, names: list[str], said: str) -> None:
    value: Any = names[0] if len(names) == 1 else names
    there = document.get(layer)
    if isinstance(there, Table):
        if there.get("file") != value:
            there["file"] = value
        return
    if there is not None:
        del document[layer]
    table = tomlkit.table()
    table.add("file", value)
    if document.as_string() and not document.as_string().endswith("\n"):
        document.add(tomlkit.nl())
    document.add(tomlkit.nl())
    document.add(tomlkit.comment(said))
    document.add(layer, table)


def _gone(folder: Path, value: Any) -> bool:
    """Whether a table names a file in the data folder that is not there."""
    return any(n.startswith(f"{DATA_DIR}/") and not (folder / n).exists() for n in _names(value))


def _names(value: Any) -> list[str]:
    """Names of files in a table of the farm file, in any of the ways they may be written."""
    if isinstance(value, str):
        return [value]
    if isinstance(value, dict):
        return _names(value.get("file"))
    if isinstance(value, list):
        return [name for item in value for name in _names(item)]
    return []

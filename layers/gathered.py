"""What ``data/provenance.json`` says of gathered files: from whom, when, whether unchanged.

Written when layers are gathered, read when a run cites its files; reaches no network.
"""

import hashlib
import json
import os
from collections.abc import Iterable, Mapping
from pathlib import Path
from typing import Any

FILE_NAME = "provenance.json"
_MOST_BYTES = 4_000_000


def read_provenance(data_dir: Path) -> dict[str, dict[str, Any]]:
    """What is known of each gathered layer; empty where nothing was gathered or nothing readable.

    Each has ``files`` (list of name, sha256, bytes), ``service``, ``publisher``, ``licence``,
    ``cite``, ``question``, ``question_id``, ``asked_on`` (YYYY-MM-DD) and ``note``.
    """
    path = data_dir / FILE_NAME
    try:
        if path.stat().st_size > _MOST_BYTES:
            return {}
        document = json.loads(path.read_text("utf-8"))
    except (OSError, ValueError):
        return {}
    layers = document.get("layers") if isinstance(document, dict) else None
    if not isinstance(layers, dict):
        return {}
    return {str(name): row for name, row in layers.items() if _sound(row)}


def write_provenance(data_dir: Path, layers: Mapping[str, Mapping[str, Any]]) -> None:
    """Write the file anew, whole or not at all; OSError where it cannot be written."""
    document = {
        "what": "Where the files of this folder come from. Written by 'suitability gather'.",
        "layers": dict(layers),
    }
    temporary = data_dir / f".{FILE_NAME}.{os.getpid()}"
    try:
        temporary.write_text(json.dumps(document, indent=1, ensure_ascii=False) + "\n", "utf-8")
        temporary.replace(data_dir / FILE_NAME)
    finally:
        temporary.unlink(missing_ok=True)


def file_row(data_dir: Path, name: str) -> dict[str, Any]:
    """Name, hash and size of a file in ``data_dir``, or in the folder it is made in."""
    path = data_dir / name
    return {"name": name, "sha256": sha256_of(path), "bytes": path.stat().st_size}


def unchanged(data_dir: Path, rows: Iterable[Mapping[str, Any]]) -> bool:
    """Whether all these files are there as they were gathered."""
    rows = list(rows)
    try:
        return bool(rows) and all(
            sha256_of(data_dir / row["name"]) == row["sha256"] for row in rows
        )
    except OSError:
        return False


def gathered_note(path: Path) -> str:
    """What a report says of an input that was gathered; empty for any other file or folder."""
    folder = path.parent
    for row in read_provenance(folder).values():
        mine = [f for f in row["files"] if path.name in (f["name"], f["name"].split("/")[0])]
        if mine:
            said = f"From {row['service']}, {row['publisher']}, asked on {row['asked_on']}"
            said += f" ({row['licence']})." + (f" {row['note']}" if row["note"] else "")
            return said if unchanged(folder, mine) else f"{said} Changed since it was gathered."
    return ""


def sha256_of(path: Path) -> str:
    """Hash of a file's bytes; OSError where it cannot be read."""
    with path.open("rb") as stream:
        return hashlib.file_digest(stream, "sha256").hexdigest()


def _sound(row: Any) -> bool:
    texts = ("service", "publisher", "licence", "cite", "question_id", "asked_on", "note")
    return (
        isinstance(row, dict)
        and all(isinstance(row.get(key), str) for key in texts)
        and isinstance(row.get("files"), list)
        and all(
            isinstance(f, dict)
            and isinstance(f.get("name"), str)
            and isinstance(f.get("sha256"), str)
            and not Path(f["name"]).is_absolute()
            and ".." not in Path(f["name"]).parts
            for f in row["files"]
        )
    )

"""What has been solved already: the figures of each variant in a file of its own, named by what decides them."""

import json
from hashlib import sha256
from pathlib import Path

from ...errors import RecordError
from ...results.export import replacing

__all__ = ["Store"]


class Store:
    """A folder of figures by key, read once and added to; without a folder nothing is kept.

    Parameters
    ----------
    folder : str or Path or None
        Made if missing.

    Attributes
    ----------
    kept : dict of str to dict
        By key, what `keep` was given.
    notes : list of str
        A sentence for each file that could not be used.

    Raises
    ------
    RecordError
        If the folder can't be made.
    """

    def __init__(self, folder):
        self.folder = Path(folder) if folder is not None else None
        self.kept, self.notes = {}, []
        if self.folder is None:
            return
        try:
            self.folder.mkdir(parents=True, exist_ok=True)
        except OSError as error:
            raise RecordError(f"{folder}: the folder can't be made: {error.strerror}.") from error
        for path in sorted(self.folder.glob("*.json")):
            try:
                self.kept[path.stem] = _sound(path.read_text(encoding="utf-8"))
            except (OSError, ValueError, KeyError, TypeError):
                self.notes.append(f"{path}: damaged; what it held is not used.")

    def keep(self, key, held):
        """Write one file, beside its place and renamed in."""
        self.kept[key] = held
        if self.folder is not None:
            text = json.dumps(held)
            with replacing(self.folder / f"{key}.json") as beside:
                beside.write_text(json.dumps({"held": held, "sha256": _hash(text)}), encoding="utf-8")


def _sound(text):
    """What a file holds; ValueError where it is not what was written."""
    found = json.loads(text)
    if _hash(json.dumps(found["held"])) != found["sha256"]:
        raise ValueError("the hash is another")
    return found["held"]


def _hash(text):
    return sha256(text.encode()).hexdigest()

"""A table of text as people deliver it: any of three separators, decimal commas, remarks, units in the heads."""

import csv
import re
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from ..errors import RecordError
from ..mesh.border import shorten

__all__ = ["Delivered", "head_and_unit", "number", "read_table"]


@dataclass(frozen=True)
class Delivered:
    """The cells of a table as they are written, without the blanks around them.

    Attributes
    ----------
    heads : tuple of str
    rows : tuple of tuple of str
        As long as the heads, filled up with "".
    lines : tuple of int
        Of the file, where each row stands (its last one, where a text in quotes has several).
    too_long, too_short : str
        Which rows have more or fewer cells than there are heads, in words.
    """

    heads: tuple
    rows: tuple
    lines: tuple
    too_long: str
    too_short: str


def read_table(path, what):
    """A table of text in UTF-8 or Latin-1: columns parted by ``;``, tabs or commas, lines from ``#`` on remarks.

    Parameters
    ----------
    path : str or Path
    what : str
        What it is, for errors: ``"thickness survey"``.

    Raises
    ------
    RecordError
        If the file can't be read, is no text, or has no heads.
    """
    who = f"{what} {path}"
    try:
        content = Path(path).read_bytes()
        text = content.decode("utf-8-sig")
    except UnicodeDecodeError:
        text = content.decode("latin-1")  # as many loggers write µ
    except (OSError, TypeError, ValueError) as error:
        raise RecordError(f"{who}: it can't be read: {error}.") from error
    if "\0" in text:
        raise RecordError(f"{who}: this is no table of text in UTF-8 or Latin-1.")
    lines = ["" if line.startswith("#") else line for line in re.split("\r\n|\r|\n", text)]
    head = next((line for line in lines if line.strip()), "")
    separator = max(";\t,", key=head.count)
    reader = csv.reader(lines, delimiter=separator, skipinitialspace=separator != "\t")
    try:
        numbered = [(reader.line_num, [cell.strip() for cell in row]) for row in reader]
    except csv.Error as error:
        raise RecordError(f"{who}: line {reader.line_num} can't be read: {error}.") from error
    numbered = [(line, row) for line, row in numbered if any(row)]
    if not numbered:
        raise RecordError(f"{who}: there is no table in it; its first line must hold the columns' heads.")
    (_, heads), *numbered = numbered
    n, rows, long, short = len(heads), [], [], []
    for line, row in numbered:
        if len(row) != n:
            (long if len(row) > n else short).append(f"line {line} has {len(row)}")
        rows.append(tuple((row + [""] * n)[:n]))
    advice = "; decimal commas need another sign between columns, or quotes" * (separator == ",")
    said = lambda torn: f"the head has {n} columns, but {shorten(torn, 8)}" if torn else ""  # noqa: E731
    too_long = said(long) + advice * bool(long)
    return Delivered(tuple(heads), tuple(rows), tuple(line for line, _ in numbered), too_long, said(short))


def head_and_unit(head, names=()):
    """What a column holds and its unit, ``("G3", "mm/m")`` of ``"G3 (mm/m)"``, "" for none.

    Of the names given units may stand without brackets as well: ``x_mm``.
    """
    in_brackets = re.fullmatch(r"(.*?)\s*[(\[]\s*([^()\[\]]*?)\s*[)\]]", head)
    if in_brackets:
        return in_brackets.groups()
    name, _, unit = head.replace("_", " ").partition(" ")
    return (name, unit.strip()) if name in names else (head, "")


def number(text):
    """A finite number with a decimal point or comma; NaN for any other text.

    Examples
    --------
    >>> number("−1.234,5"), number("1,234.5"), number("3,50"), number("3.5 mm")
    (-1234.5, 1234.5, 3.5, nan)
    """
    text = text.replace("−", "-").replace(" ", "").replace("\N{NO-BREAK SPACE}", "")
    if text.rfind(",") > text.rfind("."):
        text = text.replace(".", "").replace(",", ".")
    with suppress(ValueError):
        value = float(text.replace(",", ""))
        return value if np.isfinite(value) else np.nan
    return np.nan

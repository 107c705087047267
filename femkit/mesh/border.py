"""What a file holds before it is a `Mesh`, and how the library that parses it is called: quietly, once."""

import warnings
from contextlib import redirect_stderr, redirect_stdout
from dataclasses import dataclass, field
from io import StringIO

import numpy as np

from ..errors import MeshReadError

__all__ = ["RawMesh", "counted", "parse_quietly", "shorten"]

# What the parser says on the error stream and goes on: the file is not what it should be all the same.
FATAL_WORDS = {
    "not closed by": "it is cut off",
    "could not be read to its end": "it is cut off, or has letters where numbers belong",
    "cells that meshio cannot handle": "it holds cells of an unknown kind; it must hold triangles and quadrilaterals",
}
ADVICE = {
    "Incompatible cell data 'gmsh:physical'": (
        "some parts belong to a group and others to none. Give every part a group, or save grouped cells only"
    ),
    "Illegal data type 'String'": "it has a field of text, which is not read. Save it with fields of numbers only",
    "parametric nodes": "its points carry parameters. Save them without",
    "codec can't decode": "it has letters that are not UTF-8. Write the groups' names in UTF-8",
}


@dataclass(frozen=True, eq=False)
class RawMesh:
    """Points, cell blocks and groups as the file has them, quadratic cells and volumes included.

    Attributes
    ----------
    points : ndarray, shape (n_points, 2 or 3)
        In the file's own unit.
    blocks : list of (str, ndarray of int64, shape (n, k))
        Kind of cell and point indices; a kind may come in many blocks.
    groups : dict of str to list of ndarray of int64
        For every name, and every block in turn, which of the block's cells it holds.
    point_sets : dict of str to ndarray of int64
    notes : list of str
    """

    points: np.ndarray
    blocks: list
    groups: dict = field(default_factory=dict)
    point_sets: dict = field(default_factory=dict)
    notes: list = field(default_factory=list)


def parse_quietly(parse, path):
    """What `parse` makes of a file; nothing is printed, and whatever goes wrong is one `MeshReadError`."""
    said = StringIO()
    try:
        with redirect_stdout(said), redirect_stderr(said), warnings.catch_warnings(record=True) as warned:
            warnings.simplefilter("always")
            parsed = parse(path)
    except MeshReadError:
        raise
    except (Exception, SystemExit) as error:  # the parser raises nearly anything on a damaged file
        text = f"{error}"
        advice = next((sentence for words, sentence in ADVICE.items() if words in text), None)
        found = f" ({type(error).__name__}: {text})" if text else ""
        raise MeshReadError(
            f"{path} can't be read: {advice or 'it is cut off or damaged' + found}."
            + ("" if advice else " Save it again.")
        ) from error
    text = " ".join(said.getvalue().split() + [str(warning.message) for warning in warned])
    for words, sentence in FATAL_WORDS.items():
        if words in text:
            raise MeshReadError(f"{path} can't be read: {sentence}.")
    return parsed


def counted(n, noun):
    """A number and what is counted: ``1 point``, ``1,204 points``."""
    return f"{n:,} {noun}" + ("" if n == 1 else "s")


def shorten(items, limit=6):
    """The first few of a list in words: ``a, b, c and 7 more``."""
    items = [str(item) for item in items]
    more = len(items) - limit
    return ", ".join(items[:limit]) + (f" and {more} more" if more > 0 else "")

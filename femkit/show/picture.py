"""A finished picture: its bytes, what it shows in words, and how a notebook displays it."""

from base64 import b64encode
from dataclasses import KW_ONLY, dataclass
from html import escape

from ..errors import RecordError
from ..results.export import checked_path, replacing
from .drawing import HOW_TO_DRAW

__all__ = ["Peak", "Picture", "number", "place_words"]


@dataclass(frozen=True, eq=False)
class Peak:
    """The largest (or smallest) value of a picture.

    Attributes
    ----------
    value : float
        In the picture's unit.
    place : ndarray, shape (3,)
        Of the cell's centre or the point, not displaced, mm.
    plate : str
        Name of the plate or cell set there; empty where there is none.
    index : int
        Of the cell or point.
    """

    value: float
    place: object
    plate: str
    index: int


@dataclass(frozen=True, eq=False)
class Picture:
    """A picture that a notebook shows when it ends a cell.

    Attributes
    ----------
    png : bytes or None
        None where nothing can be drawn; the words are there all the same.
    alt : str
        The picture in words: title, quantity, largest value and its place, range.
    limits : tuple of float or None
        Lower and upper end of the bar.
    peaks : tuple of Peak
        The marked values: one a panel, two (largest, smallest) where values are signed.
    fault : str
        Why there is no picture.
    """

    png: bytes | None
    alt: str
    _: KW_ONLY
    limits: tuple | None = None
    peaks: tuple = ()
    fault: str = ""

    def save(self, path):
        """Write the picture to a .png file, beside its place and renamed in.

        Raises
        ------
        RecordError
            If there is no picture to write, the name does not end in .png, or the folder is missing.
        """
        if self.png is None:
            raise RecordError(f"{path}: there is no picture to write. {self.fault} To draw: {HOW_TO_DRAW}")
        path = checked_path(path, ".png", "pictures")
        with replacing(path) as beside:
            beside.write_bytes(self.png)
        return path

    @property
    def html(self):
        """The picture as HTML; where it could not be drawn, its words and what is missing."""
        if self.png is None:
            return f"<p><em>{escape(self.fault)}</em> To draw: <code>{HOW_TO_DRAW}</code></p><p>{escape(self.alt)}</p>"
        png = b64encode(self.png).decode("ascii")
        return f'<img style="width:100%" alt="{escape(self.alt)}" src="data:image/png;base64,{png}">'

    def _repr_png_(self):
        return self.png

    def _repr_mimebundle_(self, include=None, exclude=None):
        if self.png is None:
            return {"text/html": self.html, "text/plain": repr(self)}
        data = {"image/png": b64encode(self.png).decode("ascii"), "text/plain": repr(self)}
        return data, {"image/png": {"alt": self.alt}}

    def __repr__(self):
        return f"Picture: {self.alt}" if self.png else f"{self.fault} To draw: {HOW_TO_DRAW}\nIt would show: {self.alt}"


def number(value):
    """Four significant digits with a true minus sign.

    Examples
    --------
    >>> number(-123.456)
    '−123.5'
    """
    return f"{value:.4g}".replace("-", "−")


def place_words(place, extent):
    """Coordinates in mm, to about a thousandth of the body's extent.

    Examples
    --------
    >>> place_words((1234.56, 0.0, -7.0), 7200.0)
    '(1235, 0, −7) mm'
    """
    decimals = 0 if extent >= 1000 else 1 if extent >= 100 else 2 if extent >= 10 else 3
    words = ", ".join(f"{round(float(x), decimals) + 0.0:.{decimals}f}" for x in place)
    return f"({words}) mm".replace("-", "−")

"""Tables of text with the blemishes that people deliver them with."""

import numpy as np
import pytest

import femkit as fk
from femkit.assess.delivered import head_and_unit, number, read_table


def table(tmp_path, content):
    path = tmp_path / "table.csv"
    path.write_bytes(content if isinstance(content, bytes) else content.encode())
    return read_table(path, "counts")


@pytest.mark.parametrize("separator", [",", ";", "\t"])
@pytest.mark.parametrize("end", ["\n", "\r\n", "\r"])
def test_separators_line_ends_and_remarks_do_not_matter(tmp_path, separator, end):
    lines = ["\ufeff# by hand, twice; sure", "", "a;b (mm)", "# a remark", '"x"; 1.5', "y;", "z"]
    found = table(tmp_path, end.join([lines[0], *(line.replace(";", separator) for line in lines[1:])]))
    assert found.heads == ("a", "b (mm)")
    assert found.rows == (("x", "1.5"), ("y", ""), ("z", ""))
    assert found.lines == (5, 6, 7) and found.too_long == "" and "line 7 has 1" in found.too_short


def test_rows_that_decimal_commas_tear_are_told(tmp_path):
    said = table(tmp_path, "a,b\n1,2,5\n1,2\n3,4,5,,").too_long
    assert said.startswith("the head has 2 columns, but line 2 has 3, line 4 has 5; decimal commas need")
    assert table(tmp_path, "a;b\n1;2;5").too_long == "the head has 2 columns, but line 2 has 3"


def test_latin_1_is_read_and_its_dots_end_no_line(tmp_path):
    assert table(tmp_path, "µ;b\n1\x852;2".encode("latin-1")).rows == (("1\x852", "2"),)


@pytest.mark.parametrize(
    ("content", "said"),
    [
        (b"", "no table in it"),
        (b"# a\n\n", "no table in it"),
        (b";;\n;;\n", "no table in it"),
        (b'""', "no table in it"),
        (b"a\0b", "no table of text"),
    ],
)
def test_what_is_no_table_is_refused(tmp_path, content, said):
    with pytest.raises(fk.RecordError, match=rf"counts .*table\.csv: .*{said}"):
        table(tmp_path, content)


@pytest.mark.parametrize("path", [".", "none.csv", "a\0b", None])
def test_what_is_no_file_is_refused(path):
    with pytest.raises(fk.RecordError, match="it can't be read"):
        read_table(path, "counts")


def test_heads_have_units():
    assert head_and_unit("G3 (µm/m)") == ("G3", "µm/m") and head_and_unit("G3 [ mm/m ]") == ("G3", "mm/m")
    assert head_and_unit("R1_a") == ("R1_a", "") and head_and_unit("x_mm", ("x",)) == ("x", "mm")
    assert head_and_unit("x mm", ("x",)) == ("x", "mm") and head_and_unit("x", ("x",)) == ("x", "")


def test_what_is_no_number_is_nan():
    assert np.isnan([number(text) for text in ("", "often", "inf", "nan", "1.2.3", "3 mm")]).all()
    assert number("1 234,5") == 1234.5 and number("-1e3") == -1000

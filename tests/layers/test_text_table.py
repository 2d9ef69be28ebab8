"""Text tables in any encoding, delimiter and decimal mark."""

import pytest

from layers.files import read_table, read_text
from suitability.errors import InputError


def refusal(call, *arguments, **options) -> str:
    with pytest.raises(InputError) as caught:
        call(*arguments, **options)
    return str(caught.value)


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "cp1252"])
@pytest.mark.parametrize("delimiter", [",", ";", "\t", "|"])
def test_a_table_reads_the_same_in_any_encoding_and_delimiter(tmp_path, encoding, delimiter):
    path = tmp_path / "t.csv"
    rows = ["mukey,muname,pct", "007,Größe,3.5", "9,,None"]
    path.write_bytes("\r\n".join(rows).replace(",", delimiter).encode(encoding))
    table, notes = read_table(path, layer="soil")
    assert table.columns.tolist() == ["mukey", "muname", "pct"]
    assert table["mukey"].tolist() == ["007", "9"]
    assert table["muname"].tolist()[0] == "Größe" and table["muname"].isna().tolist() == [
        False,
        True,
    ]
    assert table["pct"].tolist() == ["3.5", "None"]
    assert [n.text for n in notes] == (
        ["t.csv is not UTF-8; its text was read as Windows-1252. Check letters with accents."]
        if encoding == "cp1252"
        else []
    )


def test_decimal_commas_become_points_only_where_they_are_sure(tmp_path):
    path = tmp_path / "t.csv"
    path.write_text("a;b;c\n1,5;1,250;x,y\n2;3;z\n")
    table, notes = read_table(path)
    assert table["a"].tolist() == ["1.5", "2"] and table["b"].tolist() == ["1.250", "3"]
    assert table["c"].tolist() == ["x,y", "z"]
    assert "in a, b, the comma was read as the decimal mark" in notes[0].text
    path.write_text("a;b\n1,250;1\n")
    table, notes = read_table(path)
    assert table["a"].tolist() == ["1,250"]
    assert "may be decimal or thousands marks" in notes[0].text and notes[0].level == "caution"


def test_a_table_without_header_and_quoted_delimiters(tmp_path):
    path = tmp_path / "t.txt"
    path.write_text('"1"|"a|b"|"No "\n"2"|""|\n')
    table, _ = read_table(path, columns=["k", "t", "f"])
    assert table["t"].tolist()[0] == "a|b" and table["t"].isna().tolist() == [False, True]
    assert table["f"].tolist()[0] == "No"


@pytest.mark.parametrize(
    ("data", "words"),
    [
        (b"a,b\n1,2\n1,2,3\n1\n", "rows are uneven: row 3 has 3, row 4 has 1; expected 2 values"),
        (b"a,b,a\n1,2,3\n", "column names stand twice: a"),
        (b"a,,c\n1,2,3\n", "column 2 of the first row has no name"),
        (b'a,b\n"1,2\n', "cannot be read as a table"),
        (b"\n \n", "holds no row"),
        (b"PK\x03\x04\x00\x00\x00", "is not a text file"),
        (b"\xff\xfea", "is not a text file"),
        (b"\x81\x8d", "is not a text file"),
    ],
)
def test_faults_of_a_table_are_named(tmp_path, data, words):
    path = tmp_path / "t.csv"
    path.write_bytes(data)
    message = refusal(read_table, path)
    assert words in message and "t.csv" in message


def test_text_is_read_with_one_kind_of_line_end(tmp_path):
    path = tmp_path / "t.txt"
    path.write_bytes(b"a\r\nb\rc\n")
    assert read_text(path)[0] == "a\nb\nc\n"

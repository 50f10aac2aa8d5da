"""Pages of reference/ that are made from the code are those that it makes; every column of CSV has a meaning and its unit."""

from __future__ import annotations

import csv
from pathlib import Path
from xml.etree import ElementTree as ET

import pytest

from tests.tools import documents
from wheelcalc.cli.main import run
from wheelcalc.files.keys import keys

WITHOUT_UNIT = {
    "rim_hole",
    "hub_hole",
    "crosses",
    "crosses_left",
    "crosses_right",
    "step",
    "count",
    "spares",
    "turns",
    "turned",
    "pass",
    "waves",
    "tension_ratio",
    "chance_that_it_fits",
    "assigned",
    "before",
    "after",
    "difference",
}  # counts, ratios, turns of a nipple; of `compare` the unit stands in the row


@pytest.mark.parametrize("name", documents.PAGES)
def test_a_page_is_what_the_code_makes(name: str) -> None:
    made = documents.PAGES[name]().rstrip("\n") + "\n"
    assert (documents.FOLDER / name).read_text(encoding="utf-8") == made, documents.RENEW


def test_every_key_stands_in_the_page_of_the_build_file() -> None:
    page = (documents.FOLDER / "build-file.md").read_text(encoding="utf-8")
    for name, key in keys().items():
        assert f"`{name.rpartition('.')[2]}`" in page
        assert key.how.replace("|", "\\|") in page


@pytest.mark.parametrize(("name", "call"), [each for each in documents.CSV_FILES.items() if each[0] != "tables"])
def test_numbers_in_csv_have_their_unit_in_the_header(name: str, call: str, tmp_path: Path) -> None:
    words = [str(documents.ROOT / word) if (documents.ROOT / word).is_file() else word for word in call.split()]
    path = tmp_path / "out.csv"
    assert run([*words, "-o", str(path)]) in (0, 1)
    rows = list(csv.DictReader(line for line in path.read_text().splitlines() if not line.startswith("#")))
    assert rows
    for column in rows[0]:
        cells = [row[column] for row in rows if row[column] not in ("", "None")]
        if cells and all(_is_number(each) for each in cells) and column not in WITHOUT_UNIT:
            assert column.endswith(("_mm", "_deg", "_N", "hz", "_mm_after", "_N_after")), (name, column)


def _is_number(cell: str) -> bool:
    return cell.lstrip("+-").replace(".", "", 1).isdigit()


PICTURES = [
    documents.CSV_FILES["lace"],
    documents.CSV_FILES["tension"],
    documents.CSV_FILES["true"],
    documents.CSV_FILES["true --broken"],
    documents.CSV_FILES["pluck"],
    documents.CSV_FILES["tap"],
]


@pytest.mark.parametrize("call", PICTURES)
def test_a_picture_scales(call: str, tmp_path: Path) -> None:
    words = [str(documents.ROOT / word) if (documents.ROOT / word).is_file() else word for word in call.split()]
    path = tmp_path / "out.svg"
    assert run([*words, "-o", str(path)]) in (0, 1)
    root = ET.fromstring(path.read_text(encoding="utf-8"))
    numbers = [float(each) for each in root.attrib["viewBox"].split()]
    assert len(numbers) == 4
    assert min(numbers[2:]) > 0
    assert not {"width", "height"} & set(root.attrib)


NO_ROWS = {
    "order": [documents.ERRAND, "--set", "stock.lengths=[240, 400]"],
    "compare": [documents.ERRAND, documents.ERRAND],
    "salvage": [],
}


@pytest.mark.parametrize("name", NO_ROWS)
def test_a_table_without_rows_has_its_header(name: str, tmp_path: Path) -> None:
    words = [str(documents.ROOT / word) if (documents.ROOT / word).is_file() else word for word in NO_ROWS[name]]
    path = tmp_path / "out.csv"
    assert run([name, *words, "-o", str(path)]) in (0, 1)
    header, *rows = path.read_text(encoding="utf-8").splitlines()
    assert set(header.split(",")) <= set(documents.columns(documents.CSV_FILES[name]))
    assert header.split(",")[0] == documents.columns(documents.CSV_FILES[name])[0]
    assert not rows

"""Tables as people keep them: separators, decimal commas, columns by another name, rows that make no sense."""

from pathlib import Path

import numpy as np
import pytest

from quadsim.errors import InputError
from quadsim.measure.columns import Column, read_bench
from quadsim.measure.columns_table import MARK, columns_tables

COLUMNS = (
    Column("rpm", "rpm", 0.0, 2e5, "speed", required=True),
    Column("thrust_g", "g", 0.0, 5e4, "thrust", also=(("thrust_kg", 1e3),)),
    Column("axis", "-", 0.0, 0.0, "axis", words=("roll", "yaw")),
)


@pytest.fixture
def read(tmp_path):
    def reading(text, columns=COLUMNS):
        path = tmp_path / "b.csv"
        path.write_text(text, encoding="utf-8")
        return read_bench(path, columns)

    return reading


@pytest.mark.parametrize(
    "text",
    [
        "rpm,thrust_g\n1000,12.5\n2000,\n",
        "# at home\nrpm;thrust_g\n1000;12,5\n\n2000;\n",
        "rpm\tthrust_kg\n1000\t0,0125\n2000\t\n",
        '\ufeffnote,RPM,thrust_g\nwarm,1000,"12,5"\n,2000,\n',
    ],
)
def test_separators_and_decimal_signs(read, text):
    bench = read(text)
    np.testing.assert_allclose(bench.column("rpm"), (1000.0, 2000.0))
    assert bench.column("thrust_g")[0] == pytest.approx(12.5)
    assert np.isnan(bench.column("thrust_g")[1])
    assert not bench.has("torque_Nm")


@pytest.mark.parametrize(
    ("text", "said"),
    [
        (
            "rpm,thrust\n1,2\n",
            "column 'thrust': unknown; known: rpm, thrust_g, axis, note. Nearest: thrust_g",
        ),
        ("thrust_g\n2\n", "column rpm: is missing; speed [rpm]"),
        ("rpm,rpm\n2,3\n", "holds rpm once more"),
        (
            "rpm,thrust_g\n1000,12,5\n",
            "line 2: has 3 cells: 1000,12,5; the head has 2 columns. With decimal commas",
        ),
        ("rpm;thrust_g\n1000;1.234,5\n", "line 2: thrust_g is '1.234,5'"),
        ("rpm,thrust_g\n,3\n", "rpm is ''"),
        ("rpm,thrust_g\n1000,-3\n", "thrust_g is -3: 1000,-3; must be a number, 0 to 50000 g"),
        ("rpm,axis\n1000,pitch\n", "axis is 'pitch'; must be one of roll, yaw"),
        ("rpm\n" + "x\n" * 7, "2 more like these"),
        ("rpm\n", "has no row below its column names"),
        ("# nothing\n", "is empty"),
    ],
)
def test_what_makes_no_sense_is_shown(read, text, said):
    with pytest.raises(InputError) as found:
        read(text)
    assert said in str(found.value)


def test_a_long_table_reads_alike_at_once_and_row_by_row(read):
    rows = "\n".join(f"{k},{0.5 * k}" for k in range(2500))
    quick, slow = (
        read(f"rpm,thrust_g\n{rows}\n"),
        read(f"rpm,thrust_g,note\n{rows.replace(chr(10), ',' + chr(10))},\n"),
    )
    np.testing.assert_array_equal(quick.column("thrust_g"), slow.column("thrust_g"))
    assert quick.lines == slow.lines
    with pytest.raises(InputError, match="line 2502: thrust_g is -1"):
        read(f"rpm,thrust_g\n{rows}\n3,-1\n")


def test_no_such_file():
    with pytest.raises(InputError, match="cannot be read"):
        read_bench(Path("nowhere.csv"), COLUMNS)


def test_the_readme_has_every_column():
    readme = Path(__file__).parents[2] / "scenarios" / "bench" / "README.md"
    assert readme.read_text(encoding="utf-8").partition(MARK)[2].strip() == columns_tables(), (
        "run python -m quadsim.measure.columns_table"
    )

"""Figures by CAS number, held against the library they come from and against sums done another way."""

import subprocess
import sys
from pathlib import Path

import pytest

from pegwood.trade.reference import Reference
from pegwood.trade.safety import breathed, liquid_for, substance, tell_substance, vapour
from pegwood.trade.safety.figures import SAFETY_FIGURES, Figure, careful, is_cas
from pegwood.trade.safety.substances import SUBSTANCES, figures

ROOT = Path(__file__).resolve().parents[2]
TABLES = Reference()


def said(word: str):
    return figures(TABLES, substance(TABLES, word))


def test_the_table_is_what_the_tool_makes_of_the_library_now():
    command = [sys.executable, str(ROOT / "tools" / "safety-tables"), "--check"]
    done = subprocess.run(command, capture_output=True, text=True, check=False)
    assert (done.returncode, done.stderr) == (0, "")


def test_heptane_is_as_the_published_tables_have_it():
    # IEC 60079-20-1 (2010): -7 C, 0.85 %, 204 C; Ontario: 400 ppm
    heptane = said("heptane")
    assert careful(heptane.flash_k, "flash_k").value == pytest.approx(273.15 - 7, abs=1e-9)
    assert careful(heptane.lower_fraction, "lower_fraction").value == pytest.approx(0.0085, abs=1e-12)
    assert careful(heptane.autoignition_k, "autoignition_k").value == pytest.approx(273.15 + 204, abs=1e-9)
    assert [one.value for one in heptane.twa_ppm] == [400]


def test_named_values_equal_the_librarys_own_answers():
    from chemicals import safety

    iec = "IEC 60079-20-1 (2010)"
    for name, cas in (("propan-2-ol", "67-63-0"), ("acetone", "67-64-1"), ("toluene", "108-88-3")):
        row = TABLES.rows(SAFETY_FIGURES)[cas]
        first = {
            quantity: next(one.value for one in getattr(row, quantity) if one.source.startswith(iec))
            for quantity in ("flash_k", "autoignition_k", "lower_fraction", "upper_fraction")
        }
        assert first == {
            "flash_k": pytest.approx(safety.T_flash(cas, method=iec)),
            "autoignition_k": pytest.approx(safety.T_autoignition(cas, method=iec)),
            "lower_fraction": pytest.approx(safety.LFL(CASRN=cas, method=iec)),
            "upper_fraction": pytest.approx(safety.UFL(CASRN=cas, method=iec)),
        }, name
        assert (row.twa_ppm[0].value, "ppm") == safety.TWA(cas)


def test_limits_by_mass_stay_by_mass_and_the_alkyl_limit_of_mercury_says_so():
    # Ontario prints these four in mg/m3; as ppm they mean nothing
    for word, mg_m3 in (("cadmium", 0.002), ("selenium", 0.2), ("lead", 0.05), ("beryllium", 0.002)):
        assert [one.value for one in said(word).twa_kg_m3] == pytest.approx([mg_m3 * 1e-6])
        assert said(word).twa_ppm == ()
    assert "alkyl" in said("mercury").twa_kg_m3[0].note
    assert [one.value for one in said("potassium hydroxide").ceiling_kg_m3] == pytest.approx([2e-6])


def test_a_models_flash_point_is_shown_and_not_worked_with():
    # ethanol: 12 or 13 C in three tables, -13 C by a model
    flash = careful(said("ethanol").flash_k, "flash_k")
    assert flash.value == pytest.approx(273.15 + 12)
    assert flash.spread[0] == pytest.approx(260.0, abs=0.1)


def test_where_standards_disagree_the_more_careful_figure_counts():
    a, b = (Figure(value=v, source=s, mark="seen") for v, s in ((311.15, "one"), (345.15, "another")))
    assert careful([b, a], "flash_k").value == 311.15
    assert careful([b, a], "upper_fraction").value == 345.15
    assert careful([], "flash_k") is None
    assert careful(said("kerosene").flash_k, "flash_k").value == pytest.approx(273.15 + 38)  # the other: 72


@pytest.mark.parametrize(
    ("word", "ml"), [("heptane", 52), ("propan-2-ol", 64), ("ethanol", 75), ("acetone", 76)]
)
def test_the_liquid_that_fills_a_cubic_metre_to_the_lower_limit(word, ml):
    # the sheet's own sums from the limits of IEC 60079-20-1 at 20 C
    assert vapour(said(word)).to_lower_limit * 1e6 == pytest.approx(ml, abs=0.5)


def test_acetone_to_its_lower_limit_weighs_sixty_grams():
    # 2.5 % of a cubic metre holds 0.025 * 1000 l / 24.055 l/mol = 1.0393 mol; times 58.08 g
    volume = liquid_for(0.025, 0.05808, 790.0)
    assert volume * 790.0 == pytest.approx(0.025 * 1000 / 24.055 * 0.05808, rel=1e-3)
    assert volume * 790.0 == pytest.approx(0.060, rel=0.02)


def test_over_heptane_the_air_is_explosive_and_over_acetone_too_rich():
    assert (vapour(said("heptane")).over, vapour(said("acetone")).over) == ("inside", "above")
    assert vapour(said("xylene")).over == "below"
    assert vapour(said("acetone")).saturated_fraction == pytest.approx(0.244, abs=0.001)


def test_naphtha_burns_by_the_more_dangerous_of_what_it_may_hold_and_says_so():
    naphtha = said("lighter fluid")
    flash = careful(naphtha.flash_k, "flash_k")
    assert flash.value == pytest.approx(273.15 - 23)
    assert flash.figure.note == "of hexane"
    assert [one.value for one in naphtha.twa_kg_m3] == pytest.approx([350e-6])  # NIOSH


def test_every_cas_number_has_a_check_digit_that_fits_and_stands_for_one_substance():
    numbers = [cas for row in TABLES.rows(SUBSTANCES).values() for cas in row.cas]
    assert all(is_cas(cas) for cas in numbers)
    assert len(numbers) == len(set(numbers))
    assert is_cas("7732-18-5")
    assert not is_cas("7732-18-4")
    assert not is_cas("water")


def test_figures_lie_where_such_figures_lie():
    for row in TABLES.rows(SAFETY_FIGURES).values():
        for lower, upper in zip(row.lower_fraction, row.upper_fraction, strict=False):
            assert 0 < lower.value < upper.value < 1, row.cas
        for flash in row.flash_k:
            assert all(flash.value < fire.value for fire in row.autoignition_k), row.cas
        for day in row.twa_ppm:
            assert all(day.value <= short.value for short in row.stel_ppm), row.cas


def test_a_number_in_no_table_is_looked_up_and_says_what_is_not_known():
    answer = tell_substance(TABLES, "110-82-7")  # cyclohexane; IEC: -17 C
    assert answer.headline.verdict == "not known"
    assert answer.data["figures"]["flash_k"]["value"] == pytest.approx(273.15 - 17)
    with pytest.raises(ValueError, match="stands in no table"):
        tell_substance(TABLES, "9999999-99-5")


def test_without_the_library_one_line_says_how_to_add_it(monkeypatch):
    monkeypatch.setattr("pegwood.trade.safety.library.there", lambda: False)
    with pytest.raises(ValueError, match=r"110-82-7 stands in no table.*pip install 'pegwood\[chemicals\]'"):
        tell_substance(TABLES, "110-82-7")


def test_a_look_up_loads_neither_pandas_nor_numpy():
    code = (
        "import sys\n"
        "from pegwood.trade.reference import Reference\n"
        "from pegwood.trade.safety import tell_substance\n"
        "for word in ('heptane', 'citric acid', 'bicarbonate'): tell_substance(Reference(), word)\n"
        "assert not {'pandas', 'numpy', 'chemicals'} & set(sys.modules)"
    )
    subprocess.run([sys.executable, "-c", code], check=True)


@pytest.mark.parametrize(
    ("word", "mg_m3", "kg_m3"),
    [
        # NIOSH Pocket Guide, 1 ppm in mg/m3 at 25 C, times Ontario's limit in ppm; densities of handbooks
        ("acetone", 2.38 * 500, 790),
        ("propan-2-ol", 2.46 * 200, 785),
        ("heptane", 4.10 * 400, 684),
        ("ethanol", 1.89 * 1000, 789),  # 15 minutes: there is none for a day
        ("light naphtha", 350, 660),  # NIOSH, already in mg/m3
    ],
)
def test_the_lungs_bear_far_less_than_the_fire(word, mg_m3, kg_m3):
    found, fire = breathed(said(word)), vapour(said(word))
    assert found.liquid == pytest.approx(mg_m3 * 1e-6 / kg_m3, rel=0.04)  # 25 C against 20 C: 1.7 %
    assert found.liquid < 0.25 * fire.to_lower_limit
    assert "to breathe" in tell_substance(TABLES, word).headline.says

"""Corrosion: what a look is, and that no treatment uses what a table of agents calls never on that base."""

import pytest

from pegwood.trade.agents import verdict
from pegwood.trade.materials import MATERIALS
from pegwood.trade.metals import CORROSION, corrosion_of, corrosion_seen, tell_corrosion
from pegwood.trade.names import UnknownWord
from pegwood.trade.reference import Reference
from trade._told import keeps_its_word

REFERENCE = Reference()

ACIDS = {"citric-acid", "oxalic-acid", "phosphoric-acid", "edta", "vinegar"}
SOLVENTS = {"naphtha", "white-spirit", "turpentine", "toluene", "xylene", "butanone", "ethyl-acetate"}
ALCOHOLS = {"propan-2-ol", "ethanol", "methanol", "acetone"}
OTHERS = {"detergent", "bicarbonate", "water", "silicone-remover"}
AMMONIA, TANNIC, POLISH, PEROXIDE = (
    {one} for one in ("ammoniated-cleaner", "tannic-converter", "metal-polish", "peroxide-ammonia")
)
AGENTS = ACIDS | SOLVENTS | ALCOHOLS | OTHERS | AMMONIA | TANNIC | POLISH | PEROXIDE

# From the stock of bench facts on what attacks what: never, whoever asks. Kept here, not read from a table.
NEVER: dict[str, set[str]] = {
    "stressed-brass": AMMONIA | POLISH | PEROXIDE,
    "brass": PEROXIDE,
    "bronze": PEROXIDE,
    "nickel-silver": PEROXIDE,
    "copper": AMMONIA | PEROXIDE,
    "blued-steel": ACIDS | TANNIC | POLISH,
    "aluminium": TANNIC,
    "duralumin": TANNIC,
    "zinc-die-cast": ACIDS | AMMONIA | TANNIC | PEROXIDE,
    "magnesium": ACIDS | TANNIC | PEROXIDE,
    "nickel-plate": PEROXIDE,
    "cadmium-plate": ACIDS | TANNIC | POLISH | PEROXIDE,
    "zinc-plate": ACIDS | TANNIC | POLISH | PEROXIDE,
    "soft-solder": {"vinegar"},
    "balsam": {"acetone"} | POLISH,
    "coated-glass": {"citric-acid", "oxalic-acid", "phosphoric-acid"} | TANNIC | POLISH,
    "glass": {"edta"} | TANNIC | POLISH,
    "silvered-mirror": AGENTS,
    "selenium-cell": AGENTS,
    "cellulose-acetate": {"ethanol", "acetone", "vinegar"} | AMMONIA,
    "celluloid": {"ethanol", "acetone", "vinegar"} | AMMONIA,
    "pvc-cloth": {"acetone"} | POLISH | PEROXIDE,
    "leather": {"acetone", "bicarbonate"} | ACIDS | AMMONIA | POLISH | PEROXIDE,
    "curtain-cloth": {"naphtha", "acetone"} | ACIDS | AMMONIA | POLISH | PEROXIDE,
}


@pytest.mark.parametrize(
    ("words", "is_it"),
    [
        ("white powder on zinc", "white-rust"),
        ("green wax on brass", "green-wax"),
        ("waxy green stuff on nickel silver", "green-wax"),
        ("hard green crystals on copper", "green-crust"),
        ("rust on steel", "red-rust"),
        ("red rust on blued screws", "rust-on-blueing"),
        ("pink brass", "dezincification"),
        ("fungus", "glass-fungus"),
        ("vinegar smell", "vinegar-syndrome"),
        ("sticky black foam", "foam-tar"),
        ("cracks and swelling in pot metal", "zinc-rot"),
        ("white furry crystals in the battery chamber", "alkaline-leak"),
        ("black film on silver", "silver-tarnish"),
        ("white bloom on aluminum", "aluminium-bloom"),
        ("thread-like tracks under paint", "filiform"),
        ("hairs on tin plate", "whiskers"),
        ("white powder on battery contacts", "alkaline-leak"),
        ("white powder on magnesium", "magnesium-powder"),
    ],
)
def test_a_look_in_a_repairers_words_is_known(words, is_it):
    assert corrosion_seen(REFERENCE, words).likely[0].key == is_it


def test_a_look_that_nothing_in_the_table_has_is_refused():
    with pytest.raises(UnknownWord, match="no look of corrosion or decay"):
        corrosion_seen(REFERENCE, "purple elephants")
    with pytest.raises(UnknownWord, match="on silver"):
        corrosion_seen(REFERENCE, "swollen on silver")
    with pytest.raises(UnknownWord):
        corrosion_seen(REFERENCE, "")


def test_what_is_named_never_on_a_base_is_used_in_no_treatment_of_it():
    wrong = [
        (row.key, base, agent)
        for row in REFERENCE.rows(CORROSION).values()
        for base in row.bases
        for one in row.treatments
        for agent in one.treat_with
        if agent in NEVER.get(base, set())
    ]
    assert wrong == []


def test_the_matrix_of_agents_forbids_no_treatment_put_on_as_it_says():
    wrong = [
        (row.key, base, agent, one.method)
        for row in REFERENCE.rows(CORROSION).values()
        for base in row.bases
        for one in row.treatments
        for agent in one.treat_with
        if verdict(REFERENCE, agent, base, one.method).verdict not in ("safe", "with care")
    ]
    assert wrong == []


def test_bases_are_materials_and_agents_are_agents():
    materials = set(REFERENCE.rows(MATERIALS))
    for row in REFERENCE.rows(CORROSION).values():
        assert set(row.bases) <= materials, row.key
        assert {agent for one in row.treatments for agent in one.treat_with} <= AGENTS, row.key


def test_what_cannot_be_undone_has_no_treatment_that_promises_it():
    for row in REFERENCE.rows(CORROSION).values():
        if row.reversible == "no":
            assert all(one.chance != "usually works" or row.key == "foam-tar" for one in row.treatments), (
                row.key
            )
        assert row.treatments or row.reversible in ("no", "film only", "partly"), row.key


def test_poisons_and_fire_are_told_before_the_treatment():
    for words, warns in (
        ("cadmium dust", "no brushing"),
        ("white lead", "poisonous"),
        ("celluloid decay", "Burns fiercely"),
        ("grey powder on magnesium", "burns"),
        ("green wax on brass", "poisonous"),
        ("dead selenium cell", "do not scrape"),
    ):
        assert any(warns in caution.says for caution in tell_corrosion(REFERENCE, words).cautions), words


def test_every_row_can_be_found_by_its_name_and_told_with_its_sources():
    for row in REFERENCE.rows(CORROSION).values():
        told = tell_corrosion(REFERENCE, row.name)
        assert row.key in [one["key"] for one in told.data["corrosion"]], row.key
        assert keeps_its_word(told), row.key


def test_times_are_told_in_seconds_and_in_order():
    told = tell_corrosion(REFERENCE, "green wax on brass").data["corrosion"][0]["treatments"][0]
    assert (told["bench_s"]["low"], told["bench_s"]["likely"], told["bench_s"]["high"]) == (120, 300, 900)
    assert told["bench_s"]["mark"] == "practice"


def test_a_materials_own_products_are_found():
    assert {row.key for row in corrosion_of(REFERENCE, "magnesium")} == {"filiform", "magnesium-powder"}
    assert corrosion_of(REFERENCE, "nylon") == ()

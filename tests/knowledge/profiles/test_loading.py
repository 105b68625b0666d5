"""Loading of config/: the files that come with the program are whole, and faults are told together."""

from __future__ import annotations

import shutil
from typing import TYPE_CHECKING

import pytest

from calendar_core.knowledge.profiles.bundled import folder
from calendar_core.knowledge.profiles.knowledge import Knowledge
from calendar_core.knowledge.profiles.loading import load_knowledge
from tests.knowledge.broken import add, change, faults

if TYPE_CHECKING:
    from pathlib import Path

CONFIG = folder("config")


def test_the_bundled_files_load() -> None:
    knowledge = load_knowledge(CONFIG)
    assert isinstance(knowledge, Knowledge)
    assert {"acer-palmatum", "pinus-thunbergii", "rhododendron-indicum", "ficus-microcarpa"} <= set(
        knowledge.profiles
    )


def test_all_faults_are_told_together_each_with_file_and_key(config: Path) -> None:
    change(
        config / "species/acer-palmatum.toml",
        'opens = { stage = "bud_swell" }',
        'opens = { stage = "bud_swel" }',
    )
    change(config / "species/acer-palmatum.toml", 'basis = "common practice"', 'basis = "hearsay"')
    change(config / "kinds/pine.toml", 'operation = "structural prune"', 'operation = "structural prunes"')
    change(config / "kinds/two-flush-pine.toml", "vigour_min = 4", "vigour_min = 9")
    change(config / "operations.toml", "minutes = 45", "minuets = 45\nminutes = 45")
    change(config / "hazards.toml", 'basis = "common practice"', 'basis = "published"\nsource = "almanac"')
    found = faults(config)
    wanted = (
        "config/species/acer-palmatum.toml: work[0].opens.stage: found 'bud_swel'; right would be",
        "config/species/acer-palmatum.toml: tolerance.shade_from_c.basis: found 'hearsay'; right would be",
        "config/kinds/pine.toml: work[3].operation: found 'structural prunes'; right would be",
        "config/kinds/two-flush-pine.toml: work[1].requires.vigour_min: found 9; right would be",
        "config/operations.toml: repot.minuets: found 45; there is no such key",
        "config/hazards.toml: frost.first_frost.source: found 'almanac'; right would be",
    )
    assert len(found) == 6
    for start in wanted:
        assert sum(line.startswith(start) for line in found) == 1, (start, found)


def test_a_fault_of_a_kind_is_told_once_and_names_a_profile_that_shows_it(config: Path) -> None:
    change(config / "kinds/two-flush-pine.toml", "vigour_min = 4", "vigour_min = 9")
    (line,) = faults(config)
    assert line.startswith("config/kinds/two-flush-pine.toml: work[1].requires.vigour_min: found 9; ")
    assert line.endswith(" (as seen from species/pinus-thunbergii.toml)")


@pytest.mark.slow
@pytest.mark.parametrize(
    ("file", "before", "after", "line"),
    [
        (  # a number without a basis
            "species/acer-palmatum.toml",
            'basis = "fitted"\nsource = "morton-2023-2025"\n',
            "",
            "species/acer-palmatum.toml: stages.leaves_present.basis: missing",
        ),
        (  # an estimate that does not say how it was made
            "hazards.toml",
            'basis = "estimate"\nnote',
            'basis = "estimate"\n# note',
            "hazards.toml: frost.visible_frost: basis 'estimate' needs a note",
        ),
        (  # a published number without its source
            "cautions.toml",
            'source = "osha-heat-index"\n',
            "",
            "cautions.toml: heat_work: basis 'published' needs a source key",
        ),
        (
            "species/ficus-microcarpa.toml",
            "[aftercare]",
            "[toxicity]",
            "species/ficus-microcarpa.toml: not a TOML file:",
        ),
        (
            "kinds/deciduous.toml",
            'id = "wire after leaf fall"\n',
            "",
            "kinds/deciduous.toml: work[8].id: found 'wire' twice",
        ),
        (
            "species/acer-palmatum.toml",
            'after = { stage = "colour"',
            'after = { stage = "dormancy"',
            "species/acer-palmatum.toml: stages.leaf_fall.after.stage: found 'dormancy'",
        ),
        (
            "species/acer-palmatum.toml",
            'before = { stage = "leaves_present", days = 10',
            'before = { stage = "bud_swell", days = 10',
            "species/acer-palmatum.toml: stages.bud_break.before.stage: found 'bud_swell'; right",
        ),
        (
            "kinds/two-flush-pine.toml",
            'after = "structural prune", weeks = 52',
            'after = "structural cut", weeks = 52',
            "kinds/two-flush-pine.toml: work[1].holds[1].after: found 'structural cut'",
        ),
        (
            "kinds/pine.toml",
            "[stages.growth_stop]",
            "[stages.growth_end]",
            "kinds/two-flush-pine.toml: work[1].opens.before_first_frost.days: hangs on",
        ),
        (
            "species/acer-palmatum.toml",
            'also = ["palmatum"',
            'also = ["Black pines"',
            "species/pinus-thunbergii.toml: also: found 'black pine', which species/acer",
        ),
        (
            "species/acer-palmatum.toml",
            'programme = ["refinement"]',
            'programme = ["trunk"]',
            "species/acer-palmatum.toml: work[5]: programme names trunk",
        ),
        (
            "operations.toml",
            'cautions = ["blades", "clean_tools", "soil_dust",',
            'cautions = ["blades", "clean_tools", "soil_dusts",',
            "operations.toml: repot.cautions[2]: found 'soil_dusts'; right would be a known",
        ),
    ],
)
def test_a_fault_is_found(config: Path, file: str, before: str, after: str, line: str) -> None:
    change(config / file, before, after)
    assert any(fault.startswith(f"config/{line}") for fault in faults(config)), faults(config)


def test_everything_listed_is_used(config: Path) -> None:
    add(
        config / "sources.toml",
        '\n[spare]\norganisation = "A"\ntitle = "B"\nyear = 2000\naddress = "C"\nchecked = "D"\n',
    )
    add(config / "cautions.toml", '\n[idle]\ntext = "Mind the step."\nbasis = "common practice"\n')
    add(
        config / "choices.toml",
        '\n[moot]\nquestion = "Left?"\ndefault = "yes"\nwhy = "It is."\n'
        '[moot.options.yes]\ntext = "Yes."\nbasis = "common practice"\n',
    )
    add(
        config / "pests.toml",
        '\n[snails]\nlabel = "Snails"\nsign = "Slime."\nseen_on = ["foliage"]\nopens = { calendar = "04-01" }\n'
        'closes = [{ calendar = "05-01" }]\nhow = "Look."\nbasis = "common practice"\n',
    )
    add(config / "kinds/palm.toml", 'label = "palm"\nof = "tropical"\n')
    assert faults(config) == (
        "config/sources.toml: spare: used nowhere; right would be to name it where it is due or to remove it",
        "config/cautions.toml: idle: used nowhere; right would be to name it where it is due or to remove it",
        "config/choices.toml: moot: used nowhere; right would be to name it where it is due or to remove it",
        "config/pests.toml: snails: used nowhere; right would be to name it where it is due or to remove it",
        "config/kinds/palm.toml: no profile is of this kind; right would be to remove it",
    )


@pytest.mark.slow
@pytest.mark.parametrize(
    ("file", "before", "after", "line"),
    [
        (
            "operations.toml",
            '"power_tools", ',
            "",
            "operations.toml: thread graft.cautions: 'power_tools' is due",
        ),
        ("operations.toml", '["wire_ends"]', "[]", "operations.toml: wire.cautions: 'wire_ends' is due"),
        (
            "operations.toml",
            '["fertilizer_label"]',
            "[]",
            "operations.toml: feeding.cautions: 'fertilizer_label' is due",
        ),
        (
            "operations.toml",
            '"clean_tools", "chemicals"',
            '"clean_tools"',
            "operations.toml: structural prune.cautions: 'chemicals' is due",
        ),
    ],
)
def test_a_caution_that_is_due_must_stand(
    config: Path, file: str, before: str, after: str, line: str
) -> None:
    change(config / file, before, after)
    assert any(fault.startswith(f"config/{line} here and missing") for fault in faults(config))


def test_works_with_the_sap_or_leaves_of_a_toxic_tree_carry_its_caution() -> None:
    knowledge = load_knowledge(CONFIG)
    of_species = {key for key, caution in knowledge.cautions.items() if caution.of_species}
    seen = set()
    for name, profile in knowledge.profiles.items():
        for work in profile.work:
            due = set()
            if profile.toxic:
                tools = set(knowledge.operations[work.operation].tools)
                due = {profile.toxic} if tools & set(knowledge.cautions[profile.toxic].due_with) else set()
            assert set(work.cautions) & of_species == due, (name, work.key)
            assert len(set(work.cautions)) == len(work.cautions), (name, work.key)
            seen |= due
    assert seen == of_species


def test_a_missing_file_and_an_empty_folder_are_told(config: Path) -> None:
    (config / "hazards.toml").unlink()
    assert faults(config) == ("config/hazards.toml: the file is missing",)
    shutil.rmtree(config / "species")
    assert faults(config)[0].startswith("config/species: found no profile")


@pytest.mark.slow
@pytest.mark.parametrize(
    "text", ["stages = 3\nwork = 4\n", "work = [{ id = [], operation = [] }]\ntoxic = []\n", ""]
)
def test_a_table_of_the_wrong_shape_is_a_fault_not_a_crash(config: Path, text: str) -> None:
    (config / "species/acer-palmatum.toml").write_text(text, encoding="utf-8")
    assert any(
        line.startswith("config/species/acer-palmatum.toml: latin: missing") for line in faults(config)
    )

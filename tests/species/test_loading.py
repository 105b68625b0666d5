"""Loading of config/: the files that come with the program are whole, and faults are told together."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from calendar_core.species.bundled import folder
from calendar_core.species.loading import KnowledgeError, load_knowledge
from calendar_core.species.schema import Knowledge

CONFIG = folder("config")


@pytest.fixture
def config(tmp_path: Path) -> Path:
    """A copy of the bundled files, to be broken."""
    return Path(shutil.copytree(CONFIG, tmp_path / "config"))


def change(file: Path, before: str, after: str) -> None:
    """Replace the first ``before`` in a file, which must be there."""
    text = file.read_text(encoding="utf-8")
    assert before in text
    file.write_text(text.replace(before, after, 1), encoding="utf-8")


def faults(config: Path) -> tuple[str, ...]:
    with pytest.raises(KnowledgeError) as caught:
        load_knowledge(config)
    return caught.value.faults


def test_the_bundled_files_load() -> None:
    knowledge = load_knowledge(CONFIG)
    assert isinstance(knowledge, Knowledge)
    assert {"acer-palmatum", "pinus-thunbergii", "rhododendron-indicum", "ficus-microcarpa"} <= set(
        knowledge.profiles
    )


def test_all_faults_are_told_together_each_with_file_and_key(config: Path) -> None:
    maple, pine = config / "species/acer-palmatum.toml", config / "species/pinus-thunbergii.toml"
    change(maple, 'opens = { stage = "bud_swell" }', 'opens = { stage = "bud_swel" }')
    change(maple, 'basis = "common practice"', 'basis = "hearsay"')
    change(pine, 'operation = "repot"', 'operation = "repott"')
    change(pine, "vigour_min = 4", "vigour_min = 9")
    change(config / "operations.toml", "minutes = 45", "minuets = 45\nminutes = 45")
    change(config / "hazards.toml", 'basis = "common practice"', 'basis = "published"\nsource = "almanac"')
    found = faults(config)
    wanted = (
        "config/species/acer-palmatum.toml: work[0].opens.stage: found 'bud_swel'; right would be",
        "config/species/acer-palmatum.toml: stages.bud_swell.basis: found 'hearsay'; right would be",
        "config/species/pinus-thunbergii.toml: work[0].operation: found 'repott'; right would be",
        "config/species/pinus-thunbergii.toml: work[2].requires.vigour_min: found 9; right would be",
        "config/operations.toml: repot.minuets: found 45; there is no such key",
        "config/hazards.toml: frost.first_frost.source: found 'almanac'; right would be",
    )
    assert len(found) == 6
    for start in wanted:
        assert sum(line.startswith(start) for line in found) == 1, (start, found)


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
            "[stages.cool_rest]",
            "[stages.active_growth]",
            "species/ficus-microcarpa.toml: not a TOML file:",
        ),
        (
            "species/acer-palmatum.toml",
            'id = "wire after leaf fall"\n',
            "",
            "species/acer-palmatum.toml: work[8].id: found 'wire' twice",
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
            "species/pinus-thunbergii.toml",
            'after = "structural prune", weeks = 52',
            'after = "structural cut", weeks = 52',
            "species/pinus-thunbergii.toml: work[2].holds[1].after: found 'structural cut'",
        ),
        (
            "species/pinus-thunbergii.toml",
            "[stages.growth_stop]",
            "[stages.growth_end]",
            "species/pinus-thunbergii.toml: work[2].opens.before_first_frost.days: hangs on",
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
            "species/acer-palmatum.toml: work[4]: programme names trunk",
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
    with (config / "sources.toml").open("a", encoding="utf-8") as file:
        file.write('\n[spare]\norganisation = "A"\ntitle = "B"\nyear = 2000\naddress = "C"\nchecked = "D"\n')
    with (config / "cautions.toml").open("a", encoding="utf-8") as file:
        file.write('\n[idle]\ntext = "Mind the step."\nbasis = "common practice"\n')
    assert [line.split("; ")[0] for line in faults(config)] == [
        "config/sources.toml: spare: used nowhere",
        "config/cautions.toml: idle: used nowhere",
    ]


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
        (
            "species/ficus-microcarpa.toml",
            '["latex"]',
            "[]",
            "species/ficus-microcarpa.toml: work[0].cautions: 'latex' is due",
        ),
        (
            "species/rhododendron-indicum.toml",
            '["heat_after_repotting", "grayanotoxin"]',
            '["heat_after_repotting"]',
            "species/rhododendron-indicum.toml: work[0].cautions: 'grayanotoxin' is due",
        ),
    ],
)
def test_a_caution_that_is_due_must_stand(
    config: Path, file: str, before: str, after: str, line: str
) -> None:
    change(config / file, before, after)
    assert any(fault.startswith(f"config/{line} here and missing") for fault in faults(config))


def test_a_missing_file_and_an_empty_folder_are_told(config: Path) -> None:
    (config / "hazards.toml").unlink()
    assert faults(config) == ("config/hazards.toml: the file is missing",)
    shutil.rmtree(config / "species")
    assert faults(config)[0].startswith("config/species: found no profile")


@pytest.mark.parametrize(
    "text", ["stages = 3\nwork = 4\n", "work = [{ id = [], operation = [] }]\ntoxic = []\n", ""]
)
def test_a_table_of_the_wrong_shape_is_a_fault_not_a_crash(config: Path, text: str) -> None:
    (config / "species/acer-palmatum.toml").write_text(text, encoding="utf-8")
    assert any(
        line.startswith("config/species/acer-palmatum.toml: latin: missing") for line in faults(config)
    )

"""Recipes: those that come with the program, and those that a show brings."""

from __future__ import annotations

import importlib.util
import re
from math import dist
from pathlib import Path

import pytest
from plan.little_shows import plain_show, plain_venue, source

from fieldfare.plan.inputs import wanted_inputs
from fieldfare.plan.recipes import Recipe, own_recipes, read_recipes, show_recipes
from fieldfare.show.show import Act
from fieldfare.units.faults import BadDocuments

ROOT = Path(__file__).parents[2]
RECIPES = own_recipes()
SAW = """\
[[recipe]]
name = "musical saw"
family = "folk"
order = 60
says = "One microphone at the bend"

[[recipe.sound]]
name = "blade"
at = [[0.3, 0.0, 0.9]]
level_db = 84

[[recipe.part]]
part = "saw"
label = "{source}"
importance = "want"
at = [[0.6, 0.0, 1.0]]
stand = ["tall boom"]
way = [{ taking = "mic", kinds = ["small condenser"], why = "it sings softly" }]
"""


def test_there_are_recipes_for_at_least_sixty_kinds_of_source() -> None:
    assert len(RECIPES) >= 60


@pytest.mark.parametrize("recipe", RECIPES.values(), ids=lambda recipe: recipe.name)
def test_every_recipe_gives_inputs_that_can_be_rigged(recipe: Recipe) -> None:
    """With everything a source can have, and with nothing; one stand or none; a first choice that is worth 100."""
    for has in ((), recipe.uses):
        show = plain_show().model_copy(
            update={"act": (Act(name="a", source=(source("Thing", recipe=recipe.name, has=has, at=(0.0, 2.0)),)),)}
        )
        for one in wanted_inputs(show, plain_venue(), RECIPES):
            assert one.accept[0].score == 100
            assert all(accept.why for accept in one.accept)
            taken = {accept.taking for accept in one.accept}
            if "mic" in taken:
                assert 60 <= one.spl_db[0] < one.spl_db[1] <= 150
                assert sum(part**2 for part in one.aim) == pytest.approx(1, abs=1e-3)
                assert one.distance_m <= 6 or recipe.family == "rooms"
            if taken & {"di", "line"}:
                assert one.signal_dbu is not None
                assert -30 <= one.signal_dbu <= 20
            assert "  " not in one.label
            assert len(one.label) <= 40


@pytest.mark.parametrize("recipe", RECIPES.values(), ids=lambda recipe: recipe.name)
def test_every_sound_of_a_recipe_is_heard_by_one_of_its_inputs(recipe: Recipe) -> None:
    heard = {name for part in recipe.part for name in (part.hears or [sound.name for sound in recipe.sound])}
    assert {sound.name for sound in recipe.sound} <= heard | {"cymbals"}


@pytest.mark.parametrize("recipe", RECIPES.values(), ids=lambda recipe: recipe.name)
def test_the_words_of_a_way_speak_of_what_it_takes(recipe: Recipe) -> None:
    for way in (way for part in recipe.part for way in part.way):
        kinds = ("condenser", "dynamic", "ribbon", "boundary", "headset")
        said = [word for word in kinds if re.search(rf"^an? (\w+ )?{word}\b", way.why)]
        assert all(word in kind for word in said for kind in way.kinds), way
        assert ("passive DI" not in way.why) or way.active is False
        assert ("active DI" not in way.why.replace("passive DI", "")) or way.active is True


def test_on_a_small_loud_stage_hat_and_ride_are_nice_and_kick_snare_and_overheads_must() -> None:
    parts = {part.part: part for part in RECIPES["drum kit"].part}
    assert {name: parts[name].importance for name in ("hat", "ride", "kick", "snare top", "overhead")} == {
        "hat": "nice", "ride": "nice", "kick": "must", "snare top": "must", "overhead": "must",
    }  # fmt: skip


@pytest.mark.parametrize("name", ["drum kit", "jazz drum kit"])
def test_both_overheads_are_equally_far_from_the_snare(name: str) -> None:
    """Common practice, no source: a string from the snare to each of them. A centimetre is 0.03 ms."""
    recipe = RECIPES[name]
    snare = next(sound for sound in recipe.sound if sound.name == "snare").at[0]
    left, right = next(part for part in recipe.part if part.part == "overhead").at
    assert dist(left, snare) == pytest.approx(dist(right, snare), abs=0.01)


def test_the_microphone_under_the_snare_is_expected_reversed_and_no_other_of_the_kit() -> None:
    assert [part.part for part in RECIPES["drum kit"].part if part.flip] == ["snare bottom"]


def test_a_show_brings_recipes_of_its_own(tmp_path: Path) -> None:
    (tmp_path / "recipes").mkdir()
    (tmp_path / "recipes" / "saw.toml").write_text(SAW, "utf-8")
    recipes = show_recipes(tmp_path)
    assert recipes["musical saw"].says == "One microphone at the bend"
    assert len(recipes) == len(RECIPES) + 1


def test_a_recipe_of_the_show_stands_before_that_of_the_program(tmp_path: Path) -> None:
    (tmp_path / "recipes").mkdir()
    (tmp_path / "recipes" / "own.toml").write_text(SAW.replace("musical saw", "trumpet"), "utf-8")
    assert show_recipes(tmp_path)["trumpet"].part[0].part == "saw"


def test_a_show_without_recipes_has_those_of_the_program(tmp_path: Path) -> None:
    assert show_recipes(tmp_path) == RECIPES


@pytest.mark.parametrize(
    ("written", "instead", "says"),
    [
        (
            'importance = "want"',
            'importance = "wnt"',
            r'recipes/saw\.toml, line 15, .*importance: "wnt" .* write "want"',
        ),
        ('kinds = ["small condenser"]', 'kinds = ["ribon"]', r'recipes/saw\.toml, line 18, .*"ribon" .* "ribbon"'),
        ("at = [[0.6, 0.0, 1.0]]", 'hears = ["bow"]\nat = [[0.6, 0.0, 1.0]]', r"saw hears 'bow', which is no sound"),
        ("level_db = 84", 'level_db = 84\nsource = "Hearsay"', r"line 11, .*'Hearsay' is not in the bibliography"),
        ('taking = "mic", kinds = ["small condenser"]', 'taking = "di"', r"needs a pickup"),
        ("level_db = 84", 'level_db = 84\ncount = "saws"', r"usual gives no number of saws"),
        ('stand = ["tall boom"]', "stereo = true", r"a stereo part has two places"),
        ('stand = ["tall boom"]', "aim = [[0.0, 0.0, 0.0]]", r"aim gives one direction for each place"),
        ("order = 60", "", r"recipes/saw\.toml, line \d, .*order"),
    ],
)
def test_a_fault_names_file_line_and_remedy(tmp_path: Path, written: str, instead: str, says: str) -> None:
    (tmp_path / "saw.toml").write_text(SAW.replace(written, instead, 1), "utf-8")
    with pytest.raises(BadDocuments, match=says):
        read_recipes(tmp_path)


def test_two_recipes_of_one_name_are_a_fault_that_names_the_second(tmp_path: Path) -> None:
    (tmp_path / "a.toml").write_text(SAW, "utf-8")
    (tmp_path / "b.toml").write_text(SAW, "utf-8")
    with pytest.raises(BadDocuments, match=r"recipes/b\.toml, line 2, .*there is already a recipe 'musical saw'"):
        read_recipes(tmp_path)


def test_every_fault_of_every_file_is_told_at_once(tmp_path: Path) -> None:
    (tmp_path / "a.toml").write_text(SAW.replace('"want"', '"wnt"'), "utf-8")
    (tmp_path / "b.toml").write_text("[[recipe\n", "utf-8")
    with pytest.raises(BadDocuments, match=r"(?s)recipes/a\.toml.*recipes/b\.toml"):
        read_recipes(tmp_path)


def test_the_example_in_the_docs_is_a_recipe(tmp_path: Path) -> None:
    text = (ROOT / "docs" / "recipes.md").read_text("utf-8")
    (block,) = re.findall(r"^```toml\n(.*?)^```", text, re.MULTILINE | re.DOTALL)
    (tmp_path / "saw.toml").write_text(block, "utf-8")
    assert list(read_recipes(tmp_path)) == ["musical saw"]


def test_the_tables_in_the_docs_are_those_of_today() -> None:
    spec = importlib.util.spec_from_file_location("docs_documents", ROOT / "tools" / "docs_documents.py")
    assert spec
    assert spec.loader
    tool = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(tool)
    text = (ROOT / "docs" / "recipes.md").read_text("utf-8")
    assert text == tool.renewed(text), "renew it: python tools/docs_documents.py"
    assert all(f"| {name} |" in text for name in RECIPES)

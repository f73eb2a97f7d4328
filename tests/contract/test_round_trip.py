"""Every record comes back from JSON and from a pickle as it was."""

import json
import pickle

import pytest
import sample_records
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from jsonschema import Draft202012Validator
from model_values import records_of
from pydantic import BaseModel
from sample_records import as_json

import caddiebrain as cb
from caddiebrain.course import load_course, write_course
from caddiebrain.errors import Fault
from caddiebrain.player import load_player, save_player
from caddiebrain.schemas import SCHEMAS

READ = sample_records.read()
WRITTEN = [name for name, entry in SCHEMAS.items() if entry.use == "written"]
INDEPENDENT = [
    name
    for name, entry in SCHEMAS.items()
    if isinstance(entry.source, type)
    and issubclass(entry.source, BaseModel)
    and name not in {"graph", "learning-curve", "player", "holes-by-numbers", "review", "setup"}
]
"""Models of which any fields within their ranges make a record."""
quick = settings(max_examples=8, deadline=None, suppress_health_check=list(HealthCheck))


@pytest.mark.parametrize("name", WRITTEN)
def test_an_answer_comes_back_from_json(name, samples):
    for record in samples[name] if isinstance(samples[name], list) else [samples[name]]:
        again = type(record).model_validate_json(record.model_dump_json())
        assert again == record
        assert again.model_dump_json() == record.model_dump_json()


@pytest.mark.parametrize("name", WRITTEN)
def test_an_answer_comes_back_from_a_pickle(name, samples):
    assert pickle.loads(pickle.dumps(samples[name])) == samples[name]


@pytest.mark.parametrize("name", INDEPENDENT)
def test_any_record_of_a_kind_comes_back_and_fits_its_schema(name):
    model = SCHEMAS[name].source
    validator = Draft202012Validator(cb.json_schema(name))

    @quick
    @given(records_of(model))
    def check(record: BaseModel) -> None:
        text = record.model_dump_json()
        assert model.model_validate_json(text) == record
        assert pickle.loads(pickle.dumps(record)) == record
        assert validator.is_valid(json.loads(text))

    check()


@quick
@given(st.sampled_from(["front", "back"]) | st.tuples(*[st.floats(-30, 600)] * 2), st.floats(0, 1))
def test_a_set_up_comes_back(pin, firmness):
    for given_pin in (pin, {3: pin}, None):
        setup = cb.Setup(pin=given_pin, firmness=firmness, temporary_greens={4: (1.5, 300.0)})
        assert cb.Setup.model_validate_json(setup.model_dump_json()) == setup
        assert pickle.loads(pickle.dumps(setup)) == setup


@quick
@given(st.floats(-4.0, 54.0), st.sampled_from(["men", "women"]), st.none() | st.floats(150.0, 300.0))
def test_a_player_of_any_level_comes_back(tmp_path_factory, index, sex, driver):
    player = cb.Level(handicap_index=index, sex=sex, driver_carry_yd=driver).player()
    file = tmp_path_factory.mktemp("player") / "player.json"
    save_player(player, file)
    assert load_player(file) == player
    assert pickle.loads(pickle.dumps(player)) == player


def test_a_fitted_player_comes_back(tmp_path):
    player = cb.fit_player(
        [{"club": "7i", "carry": 150.0}, {"club": "driver", "carry": 221.0}], cb.Level(11.0)
    )
    save_player(player, tmp_path / "player.json")
    assert load_player(tmp_path / "player.json") == player
    assert pickle.loads(pickle.dumps(player)) == player


def test_a_course_comes_back(tmp_path, demo_course):
    again = load_course(write_course(demo_course, tmp_path / "course.geojson"))
    assert [(h.number, h.par, h.stroke_index) for h in again.holes] == [
        (h.number, h.par, h.stroke_index) for h in demo_course.holes
    ]
    for one, other in zip(again.holes, demo_course.holes, strict=True):
        assert one.length_yd == pytest.approx(other.length_yd, abs=0.01)
        assert sorted(a.lie for a in one.areas) == sorted(a.lie for a in other.areas)


def test_a_played_round_comes_back():
    played = cb.load_played_round(sample_records.PLAYED)
    assert cb.load_played_round(as_json(played)) == played


def test_a_plan_that_was_pickled_answers_the_same(tiny_plan):
    again = pickle.loads(pickle.dumps(tiny_plan))
    assert again.record() == tiny_plan.record()
    assert again.options(1, to_pin=90.0, lie="rough") == tiny_plan.options(1, to_pin=90.0, lie="rough")
    assert cb.press(again, 1) == cb.press(tiny_plan, 1)


@pytest.mark.parametrize(
    "thing",
    [
        cb.Level(handicap_index=11.0),
        cb.Stableford(),
        cb.MaximumScore(),
        cb.ParBogey(),
        cb.Conditions(),
        Fault("hole 3", "a bunker", "a green"),
        cb.demo.player(),
    ],
    ids=lambda thing: type(thing).__name__,
)
def test_what_a_caller_holds_can_be_pickled(thing):
    assert pickle.loads(pickle.dumps(thing)) == thing


@pytest.mark.parametrize("kind", [name for name in cb.__all__ if name.endswith("Error")])
def test_errors_can_be_pickled(kind):
    error = getattr(cb, kind)
    made = error.one("card.json", "par", "9", "3 to 6") if issubclass(error, cb.InputError) else error("no")
    again = pickle.loads(pickle.dumps(made))
    assert type(again) is error
    assert str(again) == str(made)

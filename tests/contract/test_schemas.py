"""The published JSON Schemas: as the code makes them, sound, and true of the demo files and of real answers."""

import json

import pytest
import sample_records
from jsonschema import Draft202012Validator
from sample_records import ROOT, as_json

import caddiebrain as cb
from caddiebrain.course import course_to_geojson
from caddiebrain.player import save_player
from caddiebrain.schemas import SCHEMAS, schema_text, write_schemas

PUBLISHED = ROOT / "docs" / "schemas"
READ = sample_records.read()


def faults(name: str, data: object) -> list[str]:
    validator = Draft202012Validator(cb.json_schema(name))
    return [f"{error.json_path}: {error.message[:120]}" for error in validator.iter_errors(data)]


def test_every_schema_is_published_and_nothing_else():
    assert sorted(path.name for path in PUBLISHED.iterdir()) == sorted(f"{name}.json" for name in SCHEMAS)


@pytest.mark.parametrize("name", SCHEMAS)
def test_a_published_schema_is_what_the_code_makes(name):
    """After a change of a record: ``caddiebrain schema --out docs/schemas``, and a line in docs/changes.md."""
    assert json.loads((PUBLISHED / f"{name}.json").read_text(encoding="utf-8")) == cb.json_schema(name)


@pytest.mark.parametrize("name", SCHEMAS)
def test_a_schema_is_sound_named_and_versioned(name):
    schema = cb.json_schema(name)
    Draft202012Validator.check_schema(schema)
    assert schema["$id"] == f"urn:caddiebrain:{name}:{SCHEMAS[name].version}"
    version = schema.get("properties", {}).get("schema_version")
    if version is not None and "const" not in version:
        assert version["minimum"] == version["maximum"] == SCHEMAS[name].version


def test_every_schema_stands_in_the_page_on_files():
    page = (ROOT / "docs" / "file-formats.md").read_text(encoding="utf-8")
    assert [name for name in SCHEMAS if f"[{name}](schemas/{name}.json)" not in page] == []


def test_every_schema_has_a_sample(samples):
    assert {*READ, *samples} == set(SCHEMAS)
    assert set(READ) == {name for name, entry in SCHEMAS.items() if entry.use == "read"}


@pytest.mark.parametrize("name", READ)
def test_what_is_read_fits_its_schema(name):
    assert faults(name, as_json(READ[name])) == []


@pytest.mark.parametrize("name", [name for name, entry in SCHEMAS.items() if entry.use == "written"])
def test_what_is_written_fits_its_schema(name, samples):
    assert faults(name, as_json(samples[name])) == []


@pytest.mark.parametrize("name", [name for name, entry in SCHEMAS.items() if entry.use == "written"])
def test_a_written_record_promises_every_field_and_no_other(name, samples):
    data = as_json(samples[name])
    one = dict(data[0] if isinstance(data, list) else data)
    rest = data[1:] if isinstance(data, list) else None
    lost = {key: one[key] for key in list(one)[1:]}
    more = one | {"handicapp": 3}
    for broken in (lost, more):
        assert faults(name, broken if rest is None else [broken, *rest])


def test_files_of_the_demo_and_the_examples_fit():
    for name, file in (
        ("holes-by-numbers", ROOT / "course_specs" / "heath_by_numbers.json"),
        ("played-round", ROOT / "examples" / "demo_round.json"),
    ):
        assert faults(name, json.loads(file.read_text(encoding="utf-8"))) == []


def test_files_that_we_write_fit(tmp_path, samples, three_holes):
    save_player(cb.fit_player([{"club": "7i", "carry": 150.0}], cb.Level(11.0)), tmp_path / "player.json")
    assert faults("player", json.loads((tmp_path / "player.json").read_text(encoding="utf-8"))) == []
    assert faults("course-file", json.loads(json.dumps(course_to_geojson(three_holes)))) == []
    assert faults("records", samples["review"].records) == []


@pytest.mark.parametrize(
    ("name", "change"),
    [
        ("conditions", {"wind_mph": -1}),
        ("conditions", {"wind": 3}),
        ("holes-by-numbers", {"format": "holes"}),
        ("holes-by-numbers", {"holes": []}),
        ("level", {"handicap_index": 99}),
        ("level", {"handicap_index": "eleven"}),
        ("played-round", {"holes": 3}),
        ("player", {"patterns": []}),
        ("player", {"schema_version": 2}),
        ("course-file", {"caddiebrain": {"schema_version": 2}}),
        ("course-file", {"features": [{"type": "Feature", "properties": {}, "geometry": {"type": "Dot"}}]}),
        ("records", {"shotz": []}),
        ("setup", {"pin": "upstairs"}),
    ],
)
def test_a_schema_refuses_what_the_reader_refuses(name, change):
    sound = as_json(READ[name])
    if "features" in sound:
        sound["features"] = sound["features"][:20]
    assert faults(name, sound) == []
    assert faults(name, sound | change)


def test_a_wind_without_a_direction_is_refused_by_the_schema_too():
    assert faults("conditions", {"wind_mph": 10}) == ["$: 'wind_from_deg' is a required property"]
    for sound in ({}, {"wind_mph": 0}, {"wind_mph": 10, "wind_from_deg": 0}):
        assert faults("conditions", sound) == []


def test_an_unknown_schema_names_those_there_are():
    with pytest.raises(cb.UnknownError, match=r"no schema 'plans'; there are bag, .*, plan, "):
        cb.json_schema("plans")


def test_all_schemas_can_be_written(tmp_path):
    written = write_schemas(tmp_path / "schemas")
    assert [path.stem for path in written] == list(SCHEMAS)
    assert (tmp_path / "schemas" / "plan.json").read_text(encoding="utf-8") == schema_text("plan")
    assert sorted(path.name for path in (tmp_path / "schemas").iterdir()) == sorted(
        path.name for path in written
    )
    with pytest.raises(cb.InputError, match="a place to write"):
        write_schemas(tmp_path / "schemas" / "plan.json")

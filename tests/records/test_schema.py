import json
import tomllib
from datetime import date
from pathlib import Path

import jsonschema
import pytest

from tests.fakes.sample import JOB, SHOP
from tests.records.write_schemas import FOLDER
from tracker.records.reading import job_from, shop_from
from tracker.records.schema import schema_text

READ = {"shop": shop_from, "job": job_from}
SAMPLES = Path(__file__).parents[2] / "sample_repo"


def validator(name):
    schema = json.loads((FOLDER / f"{name}.schema.json").read_text(encoding="ascii"))
    jsonschema.Draft4Validator.check_schema(schema)
    return jsonschema.Draft4Validator(schema)


def as_json(text):
    return json.loads(json.dumps(tomllib.loads(text), default=date.isoformat))


@pytest.mark.parametrize("name", ["shop", "job"])
def test_the_shipped_schema_is_the_one_the_tables_give(name):
    held = (FOLDER / f"{name}.schema.json").read_bytes()
    assert held.decode("ascii") == schema_text(name), "run: python tests/records/write_schemas.py"


@pytest.mark.parametrize(
    ("name", "text"), [("shop", SHOP), ("job", JOB), ("shop", ""), ("job", '[job]\nnumber="1"')]
)
def test_what_the_reader_takes_the_schema_takes(name, text):
    assert READ[name](tomllib.loads(text))[1] == ()
    assert list(validator(name).iter_errors(as_json(text))) == []


@pytest.mark.parametrize(
    "path", sorted([*SAMPLES.glob("**/shop.toml"), *SAMPLES.glob("**/job.toml")]), ids=str
)
def test_the_sample_shop_passes_both(path):
    text = path.read_text(encoding="utf-8")
    assert READ[path.stem](tomllib.loads(text))[1] == ()
    assert list(validator(path.stem).iter_errors(as_json(text))) == []


WRONG = [
    ("shop", "formt = 1"),
    ("shop", "format = 2"),
    ("shop", "[policy]\nsignatures = 'often'"),
    ("shop", "[policy]\nprior_until = 2026"),
    ("shop", "[policy]\ncarry = ['motion']"),
    ("shop", "[policy]\ncarry = ['format', 'format']"),
    ("shop", "[policy]\nslower_percent = 100"),
    ("shop", "[policy]\nmax_carries = 1.5"),
    ("shop", "[[people]]\ninitials = 'np'"),
    ("shop", SHOP.replace('"np"', '"n p"')),
    ("shop", SHOP.replace('email = "np@threepenny.example"', 'email = "np"')),
    ("shop", SHOP.replace("pockets = 20", "pockets = 0")),
    ("shop", SHOP.replace("pockets = 20", "pocket = 20")),
    ("shop", SHOP.replace("max_rpm = 8000", "max_rpm = 0")),
    ("shop", SHOP.replace("[-30.0, 0.0]", "[-30.0]")),
    ("shop", SHOP.replace('"side-mount"', '"arm"')),
    ("job", ""),
    ("job", "[job]\nnumber = 4471"),
    ("job", JOB.replace("stick_out = 1.25", "stick_out = -1.25")),
    ("job", JOB.replace("number = 3", "number = 0")),
    ("job", JOB.replace('"G54"', '"G53"')),
    ("job", JOB.replace('"G54"', '"G54.1 P0"')),
    ("job", JOB.replace('units = "inch"', 'units = "cm"')),
    ("job", JOB.replace('program = "op10/O1001.nc"', "")),
    ("job", JOB.replace("large = false", 'large = "no"')),
]


@pytest.mark.parametrize(("name", "text"), WRONG)
def test_what_is_wrong_fails_both_ways(name, text):
    assert READ[name](tomllib.loads(text))[0] is None
    assert list(validator(name).iter_errors(as_json(text))) != []


@pytest.mark.parametrize("name", ["shop", "job"])
def test_features_of_draft_4_only(name):
    newer = {"const", "if", "contains", "$defs", "propertyNames", "examples", "prefixItems", "$id"}
    assert newer.isdisjoint(_keywords(json.loads(schema_text(name))))


def _keywords(schema):
    found = set(schema)
    for inner in schema.get("properties", {}).values():
        found |= _keywords(inner)
        assert isinstance(inner.get("exclusiveMinimum", False), bool)
    return found | (_keywords(schema["items"]) if "items" in schema else set())

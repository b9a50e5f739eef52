"""Write the shipped JSON Schemas anew from the tables: ``python tests/records/write_schemas.py``."""

from pathlib import Path

from tracker.records.schema import schema_text

FOLDER = Path(__file__).parents[2] / "tracker" / "schemas"

if __name__ == "__main__":
    for name in ("shop", "job"):
        (FOLDER / f"{name}.schema.json").write_text(schema_text(name), encoding="ascii", newline="\n")

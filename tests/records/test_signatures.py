"""Where signatures lie: beside their record, and nowhere else."""

from tracker.records.places import is_below_records, is_record
from tracker.records.signatures import signature_path, signed_path

RECORD = "jobs/4471/records/op10/r0003-7f3a09c2.toml"


def test_a_signature_lies_beside_its_record_and_leads_back_to_it():
    assert signature_path(RECORD) == RECORD + ".sig"
    assert signed_path(signature_path(RECORD)) == RECORD
    assert is_below_records(signature_path(RECORD))
    assert not is_record(signature_path(RECORD))


def test_another_file_is_no_signature():
    assert signed_path(RECORD) is None
    assert signed_path("jobs/4471/records/op10/r0003-7f3a09c2.sig") is None

from datetime import UTC, datetime
from hashlib import sha256

from tracker.records.names import (
    event_file,
    records_folder,
    release_file,
    revision_file,
    revision_name,
    revision_number,
)

AT = datetime(2026, 3, 11, 9, 15, 2, tzinfo=UTC)


def test_a_revision_file_is_named_after_its_own_bytes():
    digits = sha256(b"text").hexdigest()[:8]
    assert revision_file("jobs/4471", "op10", 3, b"text") == f"jobs/4471/records/op10/r0003-{digits}.toml"
    assert (
        revision_file("jobs/4471/", "op10", 12345, b"text") == f"jobs/4471/records/op10/r12345-{digits}.toml"
    )


def test_an_event_of_a_revision():
    path = event_file("jobs/4471", "op10", "r0003-7f3a09c2", "proof", "MILL2", AT, "kp")
    assert path == "jobs/4471/records/op10/r0003-7f3a09c2-proof-MILL2-20260311T091502Z-kp.toml"


def test_an_event_of_an_operation_a_job_and_the_shop():
    assert event_file("jobs/4471", "op20", None, "hold", None, AT, "dg") == (
        "jobs/4471/records/op20/20260311T091502Z-hold-dg.toml"
    )
    assert event_file("jobs/4471", None, None, "withdraw", None, AT, "dg") == (
        "jobs/4471/records/20260311T091502Z-withdraw-dg.toml"
    )
    assert (
        event_file(None, None, None, "hold", "MILL2", AT, "dg")
        == "records/20260311T091502Z-hold-MILL2-dg.toml"
    )


def test_a_name_that_is_taken_is_never_used_again():
    first = event_file(None, None, None, "hold", "MILL2", AT, "dg")
    second = event_file(None, None, None, "hold", "MILL2", AT, "dg", taken={first})
    third = event_file(None, None, None, "hold", "MILL2", AT, "dg", taken={first, second})
    assert second == "records/20260311T091503Z-hold-MILL2-dg.toml"
    assert len({first, second, third}) == 3


def test_release_and_folders():
    assert release_file("jobs/4471", 2) == "jobs/4471/records/release-0002.toml"
    assert records_folder(None) == "records"
    assert records_folder("jobs/4471", "op10") == "jobs/4471/records/op10"


def test_revision_names():
    assert revision_name(3) == "r0003"
    assert revision_number("r0003-7f3a09c2") == 3
    assert revision_number("r10003") == 10003
    assert revision_number("release-0002") is None
    assert revision_number("r0003-7f3a09c2-proof-MILL2-20260311T091502Z-kp") is None

import pytest

from tracker.services.path_lint import lint_paths


def faults(*paths):
    return [(fault.path, fault.why) for fault in lint_paths(paths)]


@pytest.mark.parametrize(
    ("path", "why"),
    [
        ("jobs/aux.nc", "device"),
        ("jobs/COM1/x", "device"),
        ("jobs/x.", "point or blank"),
        ("jobs /x", "point or blank"),
        ("jobs/a:b", "refuse :"),
        ('jobs/a"<b>', 'refuse " < >'),
        ("jobs/a\tb", "control"),
        ("jobs/\x7f", "control"),
        ("jobs/\udce9.nc", "no UTF-8"),
        ("jobs/Pru\u0308fling.nc", "not NFC"),
        ("jobs/" + "x" * 200, "longer"),
    ],
)
def test_a_name_that_makes_trouble(path, why):
    (fault,) = faults(path, "jobs/fine/O1001.nc")
    assert fault[0] == path
    assert why in fault[1]


@pytest.mark.parametrize(
    ("first", "second"),
    [
        ("jobs/O1.nc", "jobs/o1.NC"),
        ("Prüf.nc", "Pru\u0308f.nc"),
        ("STRASSE", "straße"),
    ],
)
def test_two_names_that_are_one_elsewhere(first, second):
    found = [path for path, why in faults(first, second) if "same name as" in why]
    assert len(found) == 1


def test_a_clash_of_folders_is_told_once():
    found = [
        path for path, why in faults("jobs/4471/a.nc", "jobs/4471/b.nc", "Jobs/4471/c.nc") if "same" in why
    ]
    assert len(found) == 1


def test_good_names_are_left_alone():
    assert faults("jobs/4471/op 10/Prüfling Nr. 7.nc", "jobs/4471/op10/O1001.nc", "common/O8001") == []
    assert faults("a/b", "a/b") == []

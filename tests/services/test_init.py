from datetime import UTC, datetime

import pytest

from tests.fakes.repository import FakeRepository
from tracker.clock import SetClock
from tracker.errors import BadCall, CouldNot, Refused
from tracker.services.init import ATTRIBUTES, EXAMPLE, attributes_text, init, initials_of
from tracker.store.toml_files import load_job, load_shop

CLOCK = SetClock(datetime(2026, 1, 2, 3, 4, 5, tzinfo=UTC))


class FakeGround:
    """A folder in memory: a repository that is made when it is asked for."""

    root = "(in memory)"

    def __init__(self, files=None, *, person=("Nora Pencil", "np@shop.example"), repo=None):
        self.repo = repo
        self.held = {path: data.encode() for path, data in (files or {}).items()}
        self.known = person
        self.attributes = None

    def files(self):
        return sorted(self.repo.work if self.repo else self.held)

    def shop(self):
        data = (self.repo.work if self.repo else self.held).get("shop.toml")
        return None if data is None else load_shop(data, "shop.toml")

    def person(self):
        return self.known

    def existing(self):
        return self.repo

    def repository(self):
        if self.repo is None:
            self.repo = FakeRepository()
            for path, data in self.held.items():
                self.repo.write(path, data)
        return self.repo

    def write_attributes(self, text):
        self.attributes = text

    def take_back(self, texts):
        self.taken_back = texts


def test_a_folder_becomes_a_shop_without_touching_a_program():
    ground = FakeGround({"old/O1001.nc": "O1001\r\n", "readme.txt": "x"})
    report = init(ground, CLOCK, name="  Test   shop ")
    (commit,) = ground.repo.log()
    assert set(commit.files) == {"shop.toml", EXAMPLE, ATTRIBUTES}
    assert ground.repo.work["old/O1001.nc"] == b"O1001\r\n"
    assert report.written == ("shop.toml", EXAMPLE, ATTRIBUTES)
    assert report.others == 2
    assert report.people == ()
    shop = load_shop(commit.files["shop.toml"], "shop.toml")
    assert (shop.name, shop.people, shop.policy.two_person) == ("Test shop", (), True)
    assert load_job(commit.files[EXAMPLE], "jobs/x/job.toml").number
    assert ground.attributes == commit.files[ATTRIBUTES].decode()
    assert "jobs/job-example.toml" not in ground.repo.tree().job_paths().values()


def test_alone_one_person_has_every_role():
    ground = FakeGround()
    report = init(ground, CLOCK, name="Test shop", alone=True, timezone="Europe/London")
    shop = ground.repo.tree().shop()
    (person,) = shop.people
    assert (person.initials, person.name, person.email) == ("np", "Nora Pencil", "np@shop.example")
    assert set(person.roles) == {"programmer", "setup", "quality"}
    assert not shop.policy.two_person
    assert shop.timezone == "Europe/London"
    assert report.people == ("np",)
    assert ground.repo.log()[0].author == "np@shop.example"


def test_what_is_there_is_kept():
    ground = FakeGround({ATTRIBUTES: "*.nc text\n", EXAMPLE: "mine"})
    report = init(ground, CLOCK, name="Test shop")
    assert report.written == ("shop.toml",)
    assert report.kept == (EXAMPLE, ATTRIBUTES)
    assert ground.repo.work[ATTRIBUTES] == b"*.nc text\n"
    assert set(ground.repo.log()[0].files) == {"shop.toml"}
    altering, keeping = report.notes
    assert altering.endswith("take out `*.nc text`")
    assert keeping.endswith("add the line: * -text")


def test_no_note_where_gitattributes_holds_the_rule():
    ground = FakeGround({ATTRIBUTES: "*   -text\n"})
    assert init(ground, CLOCK, name="Test shop").notes == ()


def test_a_shop_toml_that_was_never_committed_is_taken_as_it_is():
    text = 'format = 1\n[shop]\nname = "Test shop" # mine\n'
    ground = FakeGround({"shop.toml": text})
    report = init(ground, CLOCK, name="Test shop")
    assert ground.repo.log()[0].files["shop.toml"] == text.encode()
    assert report.kept == ("shop.toml",)


@pytest.mark.parametrize(
    ("text", "more", "kind"),
    [
        ('format = 1\n[shop]\nname = "Another"\n', {}, Refused),
        ('format = 1\n[shop]\nname = "Test shop"\n', {"alone": True}, Refused),
        ("format = 1\n[shop\n", {}, BadCall),
    ],
)
def test_a_shop_toml_that_does_not_fit_stops_before_anything_is_made(text, more, kind):
    ground = FakeGround({"shop.toml": text})
    with pytest.raises(kind):
        init(ground, CLOCK, name="Test shop", **more)
    assert ground.repo is None


def test_a_shop_is_not_made_twice():
    ground = FakeGround()
    init(ground, CLOCK, name="Test shop")
    with pytest.raises(Refused) as error:
        init(ground, CLOCK, name="Test shop")
    assert error.value.name == "shop-exists"
    assert len(ground.repo.log()) == 1


def test_a_repository_on_no_branch_is_refused():
    repo = FakeRepository()
    repo.save({"a.nc": "G1"})
    repo.detach()
    with pytest.raises(Refused) as error:
        init(FakeGround(repo=repo), CLOCK, name="Test shop")
    assert error.value.name == "detached-head"


def test_in_a_repository_staged_work_stays_out():
    repo = FakeRepository()
    repo.save({"a.nc": "G1"})
    repo.write("b.nc", "G2")
    repo.stage("b.nc")
    init(FakeGround(repo=repo), CLOCK, name="Test shop")
    assert "b.nc" not in repo.log()[-1].files
    assert repo.index["b.nc"] == b"G2"


@pytest.mark.parametrize(
    ("more", "slug"),
    [
        ({"name": "  "}, "no-name"),
        ({"timezone": "Nowhere/Land"}, "bad-timezone"),
        ({"initials": "a/b"}, "bad-initials"),
        ({"initials": "CON"}, "bad-initials"),
    ],
)
def test_a_wrong_call_makes_nothing(more, slug):
    ground = FakeGround()
    with pytest.raises(BadCall) as error:
        init(ground, CLOCK, **{"name": "Test shop", **more})
    assert error.value.name == slug
    assert ground.repo is None


def test_without_a_name_in_git():
    with pytest.raises(BadCall) as error:
        init(FakeGround(person=None), CLOCK, name="Test shop", alone=True)
    assert error.value.name == "who"
    ground = FakeGround(person=None)
    assert init(ground, CLOCK, name="Test shop").people == ()


@pytest.mark.parametrize(
    ("name", "expected"),
    [
        ("Nora Pencil", "np"),
        ("Österreich Müller", "om"),
        ("nora", "n"),
        ("A B C D E F", "abcd"),
        ("日本", "me"),
        ("Con Rad", "cr"),
        ("P R N", "me"),
    ],
)
def test_initials_from_a_name(name, expected):
    assert initials_of(name) == expected


def test_endings_in_use_are_programs_too():
    text = attributes_text(["old/O1001.HNC", "old/O1001.pdf", "old/1234.min", "part.xyz"])
    lines = text.splitlines()
    assert lines[1] == "* -text"
    assert "*.[hH][nN][cC] -merge diff=nc" in lines
    assert "*.[nN][cC] -merge diff=nc" in lines
    assert not any("pP][dD" in line or "xX" in line for line in lines)


def test_what_a_killed_init_had_written_comes_into_the_first_commit():
    first = FakeGround({"O1001.nc": "O1001"})
    init(first, CLOCK, name="Test shop")
    held = {path: data.decode() for path, data in first.repo.work.items()}
    again = FakeGround(held)
    report = init(again, CLOCK, name="Test shop")
    (commit,) = again.repo.log()
    assert set(commit.files) == {"shop.toml", EXAMPLE, ATTRIBUTES}
    assert (report.written, set(report.kept)) == ((), {"shop.toml", EXAMPLE, ATTRIBUTES})


def test_a_commit_that_fails_has_its_files_taken_back():
    ground = FakeGround({"O1001.nc": "O1001"})
    ground.repository().locked = True
    with pytest.raises(CouldNot):
        init(ground, CLOCK, name="Test shop")
    assert set(ground.taken_back) == {"shop.toml", EXAMPLE, ATTRIBUTES}

import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tracker.records.field import Kind
from tracker.records.fields import JOB_FILE, JOB_TABLE, MACHINE, OPERATION, PERSON, POLICY, STICK
from tracker.records.shop import Person, Policy
from tracker.records.template import job_text, quoted, shop_text
from tracker.store.toml_files import load_job, load_shop, toml_mapping


def test_a_new_shop_reads_without_a_mistake():
    shop = load_shop(shop_text(name="Bench", timezone="Europe/London").encode(), "shop.toml")
    assert (shop.name, shop.timezone, shop.people, shop.policy) == ("Bench", "Europe/London", (), Policy())


def test_alone_gives_one_person_every_role_and_asks_for_no_second():
    person = Person(initials="np", name='Nora "N" Pencil', email="np@x.y", roles=())
    shop = load_shop(shop_text(name="Bench", alone=person).encode(), "shop.toml")
    assert shop.policy.two_person is False
    assert shop.people[0].roles == ("programmer", "setup", "quality")
    assert shop.people[0].name == 'Nora "N" Pencil'


def test_a_new_job_reads_without_a_mistake():
    job = load_job(job_text(number="4471", machines=["MILL2"], units="mm").encode(), "jobs/4471/job.toml")
    assert (job.number, job.operations[0].id, job.operations[0].program) == ("4471", "op10", "op10/O1001.nc")
    assert (job.operations[0].machines, job.operations[0].units) == (("MILL2",), "mm")
    bare = load_job(job_text(number="1").encode(), "jobs/1/job.toml")
    assert bare.operations[0].machines == ()


def test_every_remark_is_a_line_that_reads_once_its_mark_is_taken_off():
    shop = shop_text(name="Bench")
    for table in (PERSON, MACHINE, STICK, POLICY):
        for field in table.fields:
            assert re.search(rf"^(# )?{field.key} = ", shop, re.MULTILINE)
    used = shop.replace("# [[", "[[")
    used = re.sub(r"^# (\w+ = )", r"\1", used, flags=re.MULTILINE).replace('owner = "kp"', 'owner = "np"')
    assert load_shop(used.encode(), "shop.toml").machines[0].pockets == 20
    job = re.sub(r"^# (?=\w+ = |\[\[)", "", job_text(number="4471"), flags=re.MULTILINE)
    job = re.sub(r"^alternative_to.*$", "", job, flags=re.MULTILINE)
    read = load_job(job.encode(), "jobs/4471/job.toml")
    assert (read.operations[0].tools[0].stick_out, read.drawing_revision) == (1.25, "C")
    for field in (*JOB_TABLE.fields, *[one for one in OPERATION.fields if one.kind is not Kind.TABLES]):
        assert re.search(rf"^(# )?{field.key} = ", job_text(number="1"), re.MULTILINE)
    assert JOB_FILE.doc in job_text(number="1")


@given(st.text(st.characters(blacklist_categories=("Cs",))))
def test_any_text_is_quoted_so_that_it_reads_back(text):
    assert toml_mapping(f"a = {quoted(text)}\n", "x")["a"] == text


@pytest.mark.parametrize("text", ['a"b', "a\\b", "a\nb", "\x7f\x00\x1b"])
def test_awkward_texts(text):
    assert "\n" not in quoted(text)
    assert toml_mapping(f"a = {quoted(text)}\n", "x")["a"] == text

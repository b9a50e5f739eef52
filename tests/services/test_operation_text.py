from hashlib import sha256

import pytest

from tests.fakes.repository import FakeTree
from tracker.errors import BadCall
from tracker.records.operation_print import operation_fingerprint
from tracker.records.sheet import sheet_fingerprint
from tracker.services.locate import locate
from tracker.services.naming import parse_named
from tracker.services.operation_text import operation_text

SHOP = b"""format = 1
[shop]
name = "Test shop"
[policy]
post_stamp = ['POST (?P<name>[A-Z-]+) (?P<version>[0-9.]+)']
[[machines]]
id = "M1"
type = "mill"
units = "mm"
resident = [9001]
[[machines]]
id = "M2"
type = "mill"
units = "mm"
resident = [9001, 9002]
"""
MAIN = b"%\nO1001 (MAIN)\n(POST PLUMB-MILL 1.2)\nM98 P1002\nM30\n%\n"
SUB = b"%\nO1002 (SUB)\nG1 X1.\nM99\n%\n"


def job(*operations: str, machines: str = '["M1"]') -> bytes:
    text = 'format = 1\n[job]\nnumber = "77"\n'
    for spec in operations or ("op10=op10/O1001.nc",):
        name, _, program = spec.partition("=")
        text += f'[[operations]]\nid = "{name}"\nprogram = "{program}"\nmachines = {machines}\n'
    return text.encode()


def text_of(files, named="77/op10", job_toml=None, shop=SHOP):
    tree = FakeTree({"shop.toml": shop, "jobs/77/job.toml": job_toml or job(), **files})
    job_path, found, operation = locate(tree, parse_named(named))
    return operation_text(tree, job_path, found, operation, tree.shop())


def paths(text):
    return [program.path for program in text.programs]


def rules(text):
    return [(finding.rule, finding.severity) for finding in text.findings]


def test_main_program_first_then_by_number_then_by_name():
    files = {
        "jobs/77/op10/O1001.nc": b"O1001\nM98 P5\nM98 P3\nM98 P4\nM30\n",
        "jobs/77/sub/five.nc": b"O5\nM99\n",
        "common/b.nc": b"O3\nM99\n",
        "jobs/77/op10/O4.nc": b"G1 X1\nM99\n",
    }
    text = text_of(files)
    assert paths(text) == [
        "jobs/77/op10/O1001.nc",
        "common/b.nc",
        "jobs/77/sub/five.nc",
        "jobs/77/op10/O4.nc",
    ]
    assert [program.number for program in text.programs] == [1001, 3, 5, None]
    assert text.findings == ()


def test_files_say_what_records_keep():
    text = text_of({"jobs/77/op10/O1001.nc": MAIN, "jobs/77/sub/O1002.nc": SUB})
    main, sub = text.files
    assert (main.path, main.name, main.number) == ("jobs/77/op10/O1001.nc", "O1001.nc", 1001)
    assert main.raw_sha256 == sha256(MAIN).hexdigest()
    assert sub.raw_sha256 == sha256(SUB).hexdigest()
    assert main.dialect == sub.dialect == "word-address"
    assert text.sheet_fingerprint == sheet_fingerprint(text.job, text.operation)
    assert text.fingerprint == operation_fingerprint(
        text.rule_version, text.strict, text.files, text.sheet_fingerprint
    )
    assert text.display_id == text.fingerprint[:8].upper()
    assert text.post == "PLUMB-MILL 1.2"


@pytest.mark.parametrize(
    ("also", "found"),
    [
        ({"jobs/77/op10/O1002.nc": SUB, "jobs/77/sub/O1002.nc": SUB, "common/O1002.nc": SUB}, "jobs/77/op10"),
        ({"jobs/77/sub/deep/O1002.nc": SUB, "common/O1002.nc": SUB}, "jobs/77/sub/deep"),
        ({"jobs/77/O1002.nc": SUB, "common/O1002.nc": SUB}, "jobs/77"),
        ({"common/more/O1002.nc": SUB}, "common/more"),
        ({"jobs/77/op20/O1002.nc": SUB, "common/O1002.nc": SUB}, "common"),
        ({"jobs/77/op20/x/O1002.nc": SUB, "common/O1002.nc": SUB}, "common"),
        ({"jobs/78/O1002.nc": SUB, "common/O1002.nc": SUB}, "common"),
    ],
)
def test_the_nearest_level_that_has_it_answers(also, found):
    toml = job("op10=op10/O1001.nc", "op20=op20/O1003.nc")
    text = text_of({"jobs/77/op10/O1001.nc": MAIN, **also}, job_toml=toml)
    assert paths(text)[1:] == [f"{found}/O1002.nc"]
    assert text.findings == ()


def test_two_on_one_level_both_belong_and_are_refused():
    files = {
        "jobs/77/op10/O1001.nc": MAIN,
        "jobs/77/sub/O1002.nc": SUB,
        "jobs/77/old/copy of sub.nc": SUB.replace(b"X1.", b"X2."),
    }
    text = text_of(files)
    assert rules(text) == [("call-twice", "refuse")]
    assert len(text.programs) == 3
    finding = text.findings[0]
    assert finding.file == "jobs/77/op10/O1001.nc"
    assert finding.line == 4
    assert "jobs/77/old/copy of sub.nc" in finding.message


def test_the_records_folder_and_other_files_hold_no_programs():
    files = {
        "jobs/77/op10/O1001.nc": MAIN,
        "jobs/77/sub/O1002.nc": SUB,
        "jobs/77/records/op10/r0001-1234abcd.toml": SUB,
        "jobs/77/records/odd.nc": SUB,
        "jobs/77/drawing.pdf": SUB,
    }
    text = text_of(files)
    assert text.findings == ()
    assert paths(text)[1:] == ["jobs/77/sub/O1002.nc"]


def test_missing_and_not_resident_is_refused():
    text = text_of({"jobs/77/op10/O1001.nc": MAIN})
    assert rules(text) == [("call-missing", "refuse")]
    assert "O1002" in text.findings[0].message
    assert text.outside == ()


def test_resident_calls_are_outside():
    text = text_of({"jobs/77/op10/O1001.nc": b"O1001\nG65 P9001 X1.\nG65 P9001 X2.\nM30\n"})
    assert text.findings == ()
    (call,) = text.outside
    assert (call.file, call.line, call.text) == ("jobs/77/op10/O1001.nc", 2, "G65 P9001 X1.")
    assert "M1" in call.why


def test_resident_on_one_machine_only_is_missing_on_the_other():
    files = {"jobs/77/op10/O1001.nc": b"O1001\nG65 P9002\nM30\n"}
    text = text_of(files, job_toml=job(machines='["M1", "M2"]'))
    assert rules(text) == [("call-missing", "refuse")]
    assert "for M1" in text.findings[0].message
    assert len(text.outside) == 1


def test_in_the_repository_and_resident_is_refused():
    files = {"jobs/77/op10/O1001.nc": b"O1001\nG65 P9001\nM30\n", "common/O9001.nc": b"O9001\nM99\n"}
    text = text_of(files)
    assert rules(text) == [("call-resident", "refuse")]
    assert paths(text)[1:] == ["common/O9001.nc"]


def test_calls_by_variable_are_outside():
    text = text_of({"jobs/77/op10/O1001.nc": b"O1001\nM98 P#100\nM30\n"})
    assert text.findings == ()
    assert [(call.line, call.text) for call in text.outside] == [(2, "M98 P#100")]


def test_every_reading_of_a_packed_call_belongs():
    main = b"O1001\nM98 P51002\nM30\n"
    both = {"common/O1002.nc": SUB, "common/O51002.nc": SUB.replace(b"O1002", b"O51002")}
    text = text_of({"jobs/77/op10/O1001.nc": main, **both})
    assert [p.number for p in text.programs] == [1001, 1002, 51002]
    assert text.findings == ()
    assert any("M98 P51002" in note and "5 times" in note for note in text.notes)
    one = text_of({"jobs/77/op10/O1001.nc": main, "common/O1002.nc": SUB})
    assert [p.number for p in one.programs] == [1001, 1002]
    assert one.findings == ()
    assert any("M98 P51002" in note for note in one.notes)
    none = text_of({"jobs/77/op10/O1001.nc": main})
    assert rules(none) == [("call-missing", "refuse")]
    assert "O51002 or O1002" in none.findings[0].message


def test_calls_of_called_programs_are_followed_and_a_circle_ends():
    files = {
        "jobs/77/op10/O1001.nc": MAIN,
        "common/O1002.nc": b"O1002\nM98 P1003\nM99\n",
        "common/O1003.nc": b"O1003\nM98 P1002\nM98 P1001\nM99\n",
    }
    text = text_of(files)
    assert [p.number for p in text.programs] == [1001, 1002, 1003]
    assert text.findings == ()


def test_the_search_is_bounded():
    files = {"jobs/77/op10/O1001.nc": MAIN}
    files |= {f"common/O{n}.nc": b"O%d\nM98 P%d\nM99\n" % (n, n + 1) for n in range(1002, 1700)}
    text = text_of(files)
    assert ("call-bound", "refuse") in rules(text)
    assert len(text.programs) == 500


def test_a_line_of_the_same_program_is_no_call():
    text = text_of({"jobs/77/op10/O1001.nc": b"O1001\nM97 P100\nM30\nN100 G1 X1.\nM99\n"})
    assert text.findings == text.outside == ()


def test_a_sub_in_the_same_file_is_found():
    files = {
        "jobs/77/op10/O1001.nc": b"O1001\nM98 P1002\nM30\nO1002\nM99\n",
        "common/O1002.nc": SUB,
    }
    text = text_of(files)
    assert paths(text) == ["jobs/77/op10/O1001.nc"]
    assert text.findings == ()


def test_an_o_word_sub_of_the_same_file_is_found():
    text = text_of({"jobs/77/op10/O1001.nc": b"o100 sub\nG1 X1\no100 endsub\no100 call\nM2\n"})
    assert text.findings == ()
    other = text_of({"jobs/77/op10/O1001.nc": b"o100 call\nM2\n"})
    assert rules(other) == [("call-missing", "refuse")]


def test_return_to_a_line_makes_the_whole_operation_strict():
    sub = b"O1002\nM99 P100\n"
    plain = text_of({"jobs/77/op10/O1001.nc": MAIN, "common/O1002.nc": SUB})
    strict = text_of({"jobs/77/op10/O1001.nc": MAIN, "common/O1002.nc": sub})
    numbered = MAIN.replace(b"M98", b"N100 M98")
    renumbered = MAIN.replace(b"M98", b"N200 M98")
    assert not plain.strict
    assert strict.strict
    a = text_of({"jobs/77/op10/O1001.nc": numbered, "common/O1002.nc": sub})
    b = text_of({"jobs/77/op10/O1001.nc": renumbered, "common/O1002.nc": sub})
    assert a.fingerprint != b.fingerprint


def test_a_missing_program_names_the_nearest():
    with pytest.raises(BadCall) as error:
        text_of({"jobs/77/op10/o1001.nc": MAIN})
    assert error.value.name == "missing-program"
    assert error.value.where == "jobs/77/job.toml"
    assert "jobs/77/op10/o1001.nc" in error.value.fix


@pytest.mark.parametrize("program", ["../../../O1.nc", "op10/../../../../O1.nc"])
def test_a_program_never_lies_outside(program):
    with pytest.raises(BadCall):
        text_of({}, job_toml=job(f"op10={program}"))


def test_a_program_anywhere_in_the_repository():
    text = text_of(
        {"common/fixtures/O1001.nc": b"O1001\nM30\n"}, job_toml=job("op10=../../common/fixtures/O1001.nc")
    )
    assert paths(text) == ["common/fixtures/O1001.nc"]


def test_without_operations_the_one_program_of_op10():
    toml = b'format = 1\n[job]\nnumber = "77"\n'
    text = text_of({"jobs/77/op10/O1001.nc": b"O1001\nM30\n"}, named="77", job_toml=toml)
    assert paths(text) == ["jobs/77/op10/O1001.nc"]
    with pytest.raises(BadCall) as error:
        text_of({"jobs/77/op10/A.nc": b"O1\n", "jobs/77/op10/B.nc": b"O2\n"}, named="77", job_toml=toml)
    assert error.value.name == "which-program"


def test_programs_without_code_are_named():
    text = text_of({"jobs/77/op10/O1001.nc": b"%\n(ONLY WORDS)\n%\n"})
    assert text.codeless == ("jobs/77/op10/O1001.nc",)


def test_binary_is_kept_to_the_letter_with_a_note():
    text = text_of({"jobs/77/op10/O1001.nc": bytes(range(256)) * 8})
    assert text.files[0].dialect == "verbatim"
    assert any("kept to the letter" in note for note in text.notes)


def test_posts_of_all_programs():
    sub = b"O1002\n(POST OTHER-MILL 3.0)\nM99\n"
    text = text_of({"jobs/77/op10/O1001.nc": MAIN, "common/O1002.nc": sub})
    assert text.post == "PLUMB-MILL 1.2; OTHER-MILL 3.0"


@pytest.mark.parametrize(
    ("named", "slug"),
    [
        ("78/op10", "unknown-job"),
        ("77/op30", "unknown-operation"),
        ("77", "which-operation"),
    ],
)
def test_unknown_names_come_with_the_nearest(named, slug):
    toml = job("op10=op10/O1001.nc", "op20=op20/O1003.nc")
    with pytest.raises(BadCall) as error:
        text_of({}, named=named, job_toml=toml)
    assert error.value.name == slug
    assert "77" in error.value.fix or "op10" in error.value.fix


@pytest.mark.parametrize("named", ["77/op10", "77/OP10", "77/op 10", "77"])
def test_ways_to_write_an_operation(named):
    assert text_of({"jobs/77/op10/O1001.nc": b"O1001\nM30\n"}, named=named).operation.id == "op10"


def test_a_job_is_found_by_its_number_too():
    tree = FakeTree({"shop.toml": SHOP, "jobs/plate/job.toml": job(), "jobs/odd/job.toml": b"not toml ["})
    assert locate(tree, parse_named("77/op10"))[0] == "jobs/plate/job.toml"

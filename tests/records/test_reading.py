"""Every key read, every mistake named with its place."""

import tomllib
from datetime import date

import pytest

from tests.fakes.sample import JOB, SHOP
from tracker.records.field import Kind
from tracker.records.fields import JOB_FILE, SHOP_FILE
from tracker.records.job import Offset, Operation, Stock, Tool, Waiver
from tracker.records.reading import job_against_shop, job_from, shop_from
from tracker.records.shop import CARRY, REPROVE, REVIEW, Axes, Machine, Person, Policy, Stick, Travel


def shop(text):
    return shop_from(tomllib.loads(text))


def job(text, folder="jobs/4471"):
    return job_from(tomllib.loads(text), folder)


def test_the_sample_shop_reads_whole():
    read, problems = shop(SHOP)
    assert problems == ()
    assert read.name == "Threepenny Bench Works"
    assert read.policy == Policy(post_stamp=("POST (?P<name>[A-Z-]+) (?P<version>[0-9.]+)",))
    assert read.person("SS") == Person(
        initials="ss",
        name="Sol Shim",
        email="ss@threepenny.example",
        roles=("setup",),
        keys=(KEY,),
        since=date(2025, 1, 7),
        left=date(2027, 1, 31),
    )
    assert read.machine("mill2") == Machine(
        id="MILL2",
        type="mill",
        units="inch",
        changer="side-mount",
        pockets=20,
        large_tool_over=3.15,
        max_rpm=8000.0,
        rapid=Axes(x=900.0, y=900.0, z=700.0),
        travel=Travel(x=(-30.0, 0.0), y=(-16.0, 0.0), z=(-20.0, 0.0)),
        decimal="calculator",
        group="MILLS",
        resident=(9001,),
        file_name="O{number:04}.NC",
        line_end="crlf",
        characters="ascii-upper",
        folder="MILL2",
    )
    assert read.machine("LATHE1").travel.y is None
    assert read.machine("LATHE1").decimal is None
    assert read.sticks == (Stick(name="BLUE-1", owner="kp"),)


def test_the_sample_job_reads_whole():
    read, problems = job(JOB)
    assert problems == ()
    first = read.operations[0]
    assert (read.number, read.part, read.drawing_revision) == ("4471", "4471-PLATE", "C")
    assert first.offsets == (
        Offset(code="G54", origin="X Y lower left corner of the finished part, Z finished top"),
    )
    assert first.stock == Stock(top=0.05)
    assert first.tools[0] == Tool(
        number=3,
        description="1/2 4FL END MILL",
        diameter=0.5,
        stick_out=1.25,
        h=3,
        d=3,
        offset=3,
        nose_radius=0.0,
        insert="none",
    )
    assert first.tools[1].length_offset == 5
    assert first.waivers == (Waiver(rule="stick-out", reason="holder turned down", by="np", tool=3),)
    assert read.operations[1].alternative_to == "op10"
    assert read.operation("OP10-M3").tools == first.tools


def test_almost_nothing_is_required():
    read, problems = shop("")
    assert problems == ()
    assert (read.name, read.timezone, read.paper, read.policy) == ("", "UTC", "a4", Policy())
    read, problems = job('[job]\nnumber = "1"\n')
    assert problems == ()
    assert read.operations == (Operation(id="op10", program="op10"),)
    read, problems = job('[job]\nnumber = "1"\n[[operations]]\nprogram = "O1.nc"\n')
    assert read.operations[0].id == "op10"


def test_offsets_have_one_way_of_writing():
    text = '[job]\nnumber = "1"\n[[operations]]\nprogram = "p"\n'
    codes = ["g54", "G59.3", "G54.1P7", "g54.1 p0300", "g154p02"]
    read, problems = job(text + "".join(f'[[operations.offsets]]\ncode = "{code}"\n' for code in codes))
    assert problems == ()
    usual = ["G54", "G59.3", "G54.1 P7", "G54.1 P300", "G154 P2"]
    assert [one.code for one in read.operations[0].offsets] == usual


def test_a_kind_moved_to_a_stricter_list_leaves_the_list_that_is_not_stated():
    read, problems = shop('[policy]\nreview = ["wording", "coolant"]\n')
    assert problems == ()
    assert read.policy.carry == ("numbering", "format")
    assert read.policy.review == ("wording", "coolant")
    assert read.policy.reprove == REPROVE
    read, problems = shop('[policy]\ncarry = []\nreprove = ["stop", "motion", "numbering"]\n')
    assert problems == ()
    assert read.policy.carry == ()
    assert read.policy.review == tuple(kind for kind in REVIEW if kind != "stop")
    assert shop("")[0].policy.carry == CARRY


PERSON = '[[people]]\ninitials = "np"\nname = "N"\nemail = "n@x.y"\nroles = ["programmer"]\n'
KEY = "ssh-ed25519 AAAAC3NzaC1lZDI1NTE5AAAAINdamAGCsQq31Uv+08lkBzoO4XLz2qYjJa8CGmj3BxUa"  # RFC 8032 section 7.1, test 1
MACHINE = '[[machines]]\nid = "M1"\ntype = "mill"\nunits = "mm"\n'

WRONG_SHOPS = [
    # text, path of the problem, words of the message, words of the fix
    ("formt = 1", ("formt",), "unknown key 'formt' in shop.toml", "format"),
    ("format = 2", ("format",), "2 is more than 1", ""),
    ('format = "1"', ("format",), "a whole number, not '1'", "format = 1"),
    ("format = true", ("format",), "a whole number, not true", ""),
    ("shop = 3", ("shop",), "must be a table", ""),
    ("[shop]\nnam = 'x'", ("shop", "nam"), "unknown key 'nam' in [shop]", "did you mean name?"),
    ("[shop]\nname = 3", ("shop", "name"), "text in quotes, not 3", ""),
    ("[shop]\ntimezone = 'Europe/Lodnon'", ("shop", "timezone"), "no time zone", ""),
    ("[shop]\ntimezone = '../etc/passwd'", ("shop", "timezone"), "no time zone", ""),
    ("[shop]\ntimezone = ''", ("shop", "timezone"), "no time zone", ""),
    ("[shop]\npaper = 'a5'", ("shop", "paper"), "cannot be 'a5'", "did you mean a4?"),
    ("[policy]\nsignatures = 'often'", ("policy", "signatures"), "cannot be 'often'", ""),
    ("[policy]\nprior_until = '2026-12-31'", ("policy", "prior_until"), "a date", ""),
    ("[policy]\nslower_percent = 100", ("policy", "slower_percent"), "more than 99", ""),
    ("[policy]\nslower_percent = -1", ("policy", "slower_percent"), "less than 0", ""),
    ("[policy]\nslower_percent = nan", ("policy", "slower_percent"), "a number, not nan", ""),
    ("[policy]\nslower_percent = inf", ("policy", "slower_percent"), "a number, not inf", ""),
    ("[policy]\nmax_carries = 1.5", ("policy", "max_carries"), "a whole number", ""),
    ("[policy]\nmax_carries = -1", ("policy", "max_carries"), "less than 0", ""),
    ("[policy]\nmachines = 'some'", ("policy", "machines"), "cannot be 'some'", "any, all"),
    ("[policy]\ntwo_person = 'no'", ("policy", "two_person"), "true or false", ""),
    ("[policy]\nlapse_months = -3", ("policy", "lapse_months"), "less than 0", ""),
    ("[policy]\ndeviation_hours = -1", ("policy", "deviation_hours"), "less than 0", ""),
    ("[policy]\ngroup_first_piece = 1", ("policy", "group_first_piece"), "true or false", ""),
    ("[policy]\npost_stamp = 'POST'", ("policy", "post_stamp"), "a list of texts", ""),
    ("[policy]\npost_stamp = ['(']", ("policy", "post_stamp", 0), "broken", ""),
    ("[policy]\npost_stamp = ['(?P<name>x)']", ("policy", "post_stamp", 0), "(?P<version>...)", ""),
    (
        "[policy]\ncarry = ['motion']",
        ("policy", "carry", 0),
        "belongs to reprove; carry would be looser",
        "stricter",
    ),
    ("[policy]\ncarry = ['stop']", ("policy", "carry", 0), "belongs to review", ""),
    (
        "[policy]\nreview = ['feed']",
        ("policy", "review", 0),
        "belongs to reprove; review would be looser",
        "",
    ),
    (
        "[policy]\ncarry = ['numbring']",
        ("policy", "carry", 0),
        "no kind of change",
        "did you mean numbering?",
    ),
    ("[policy]\nreprove = ['flow']", ("policy", "reprove", 0), "always asks for a full proof", ""),
    (
        "[policy]\ncarry = ['format']\nreview = ['format']",
        ("policy", "review", 0),
        "in carry and in review",
        "stricter",
    ),
    ("[policy]\ncarry = ['format', 'format']", ("policy", "carry", 1), "twice", ""),
    ("[policy]\ncarry = [1]", ("policy", "carry", 0), "text in quotes", ""),
    ("[policy]\ncarries = 1", ("policy", "carries"), "unknown key", "carr"),
    ("people = 1", ("people",), "a list of tables", "[[people]]"),
    ("people = [1]", ("people",), "a list of tables", "[[people]]"),
    *[
        (PERSON.replace(line, ""), ("people", 0), f"[[people]] has no {line.split()[0]}", "add a line like")
        for line in PERSON.splitlines()[1:]
    ],
    (PERSON.replace('"np"', '"n p"'), ("people", 0, "initials"), "no id", ""),
    (PERSON.replace('"np"', '"con"'), ("people", 0, "initials"), "no id", ""),
    (PERSON.replace('"np"', '"np."'), ("people", 0, "initials"), "no id", ""),
    (PERSON.replace('"np"', '"' + "n" * 25 + '"'), ("people", 0, "initials"), "no id", ""),
    (PERSON.replace('"N"', '" "'), ("people", 0, "name"), "empty", ""),
    (PERSON.replace("n@x.y", "n x.y"), ("people", 0, "email"), "no e-mail address", ""),
    (PERSON.replace('"programmer"', '"boss"'), ("people", 0, "roles", 0), "cannot be 'boss'", "programmer"),
    (PERSON + "since = '2025-01-07'", ("people", 0, "since"), "a date like", ""),
    (PERSON + "since = 2025-01-07T00:00:00Z", ("people", 0, "since"), "a date like", ""),
    (PERSON + "since = 2025-01-07\nleft = 2025-01-06", ("people", 0, "left"), "before the first", ""),
    (PERSON + "keys = [1]", ("people", 0, "keys", 0), "text in quotes", ""),
    (PERSON + "keys = ['ssh-ed25519 AAAA']", ("people", 0, "keys", 0), "copy the line", ""),
    (PERSON + f"keys = ['{KEY} a', '{KEY} b']", ("people", 0, "keys"), "twice", "take one out"),
    (
        PERSON
        + f"keys = ['{KEY}']\n"
        + PERSON.replace("np", "kp").replace("n@", "k@")
        + f"keys = ['{KEY} b']",
        ("people", 1, "keys"),
        "np has this key too",
        "each person makes",
    ),
    (
        PERSON + PERSON.replace('"np"', '"NP"'),
        ("people", 1, "initials"),
        "'NP' stands twice",
        "without regard to case",
    ),
    *[
        (
            MACHINE.replace(line, ""),
            ("machines", 0),
            f"[[machines]] has no {line.split()[0]}",
            "add a line like",
        )
        for line in MACHINE.splitlines()[1:]
    ],
    (MACHINE + MACHINE.replace("M1", "m1"), ("machines", 1, "id"), "'m1' stands twice", ""),
    (
        MACHINE + MACHINE.replace("M1", "M2") + "folder = 'm1'",
        ("machines", 1, "folder"),
        "folder on the stick",
        "",
    ),
    (MACHINE.replace('"mm"', '"cm"'), ("machines", 0, "units"), "cannot be 'cm'", "mm"),
    (MACHINE.replace('"mill"', '"mil"'), ("machines", 0, "type"), "cannot be 'mil'", "did you mean mill?"),
    (MACHINE + "changer = 'arm'", ("machines", 0, "changer"), "cannot be 'arm'", ""),
    (MACHINE + "pocket = 20", ("machines", 0, "pocket"), "unknown key", "did you mean pockets?"),
    (MACHINE + "pockets = '20'", ("machines", 0, "pockets"), "a whole number, not '20'", "pockets = 20"),
    (MACHINE + "pockets = 0", ("machines", 0, "pockets"), "less than 1", ""),
    (MACHINE + "large_tool_over = 0", ("machines", 0, "large_tool_over"), "not above 0", "large_tool_over ="),
    (MACHINE + "max_rpm = -5", ("machines", 0, "max_rpm"), "not above 0", ""),
    (MACHINE + "chuck_max_rpm = true", ("machines", 0, "chuck_max_rpm"), "a number, not true", ""),
    (MACHINE + "rapid = 900", ("machines", 0, "rapid"), "must be a table", "{ x = 900"),
    (MACHINE + "rapid = { x = 0 }", ("machines", 0, "rapid", "x"), "not above 0", ""),
    (MACHINE + "rapid = { a = 1 }", ("machines", 0, "rapid", "a"), "unknown key 'a' in rapid", "x, y, z"),
    (MACHINE + "travel = { x = [0, -30] }", ("machines", 0, "travel", "x"), "lowest stands first", ""),
    (MACHINE + "travel = { x = [0] }", ("machines", 0, "travel", "x"), "two numbers", ""),
    (MACHINE + "travel = { x = 3 }", ("machines", 0, "travel", "x"), "two numbers", ""),
    (MACHINE + "decimal = 'point'", ("machines", 0, "decimal"), "cannot be 'point'", ""),
    (MACHINE + "group = 3", ("machines", 0, "group"), "text in quotes", ""),
    (MACHINE + "resident = ['O9001']", ("machines", 0, "resident", 0), "a whole number", ""),
    (MACHINE + "resident = [-1]", ("machines", 0, "resident", 0), "less than 0", ""),
    (MACHINE + "file_name = 'PROG.NC'", ("machines", 0, "file_name"), "made from {number} or {name}", ""),
    (MACHINE + "file_name = '{number'", ("machines", 0, "file_name"), "cannot be filled in", ""),
    (MACHINE + "file_name = '{nmber}'", ("machines", 0, "file_name"), "made from {number} or {name}", ""),
    (MACHINE + "file_name = '{0}'", ("machines", 0, "file_name"), "made from {number} or {name}", ""),
    (
        MACHINE + "file_name = '{number.real}'",
        ("machines", 0, "file_name"),
        "made from {number} or {name}",
        "",
    ),
    (MACHINE + "file_name = '{number:99999999}'", ("machines", 0, "file_name"), "cannot be filled in", ""),
    (MACHINE + "file_name = '{number!r}'", ("machines", 0, "file_name"), "cannot be filled in", ""),
    (MACHINE + "file_name = '{name:>5}'", ("machines", 0, "file_name"), "cannot be filled in", ""),
    (MACHINE + "file_name = '../{name}'", ("machines", 0, "file_name"), "does not make a file name", ""),
    (MACHINE + "line_end = 'cr'", ("machines", 0, "line_end"), "cannot be 'cr'", ""),
    (MACHINE + "characters = 'utf-8'", ("machines", 0, "characters"), "cannot be", ""),
    (MACHINE + "max_line = -1", ("machines", 0, "max_line"), "less than 0", ""),
    (MACHINE + "names_8_3 = 0", ("machines", 0, "names_8_3"), "true or false", ""),
    (MACHINE + "folder = '../x'", ("machines", 0, "folder"), "no name of a single folder", ""),
    (MACHINE + "folder = 'aux'", ("machines", 0, "folder"), "no name of a single folder", ""),
    (MACHINE + "folder = 'x '", ("machines", 0, "folder"), "no name of a single folder", ""),
    (MACHINE + "folder = ''", ("machines", 0, "folder"), "no name of a single folder", ""),
    (MACHINE + "folder = 'For-Proving'", ("machines", 0, "folder"), "of this tool's own", ""),
    (PERSON + "[[sticks]]\nname = 'B'", ("sticks", 0), "has no owner", ""),
    (PERSON + "[[sticks]]\nowner = 'np'", ("sticks", 0), "has no name", ""),
    (
        PERSON + "[[sticks]]\nname = 'B'\nowner = 'nq'",
        ("sticks", 0, "owner"),
        "nobody here has",
        "did you mean np?",
    ),
    (PERSON + "[[sticks]]\nname = 'B'\nowner = 'NP'\n" * 2, ("sticks", 1, "name"), "stands twice", ""),
]


@pytest.mark.parametrize(
    ("text", "path", "words", "fix"), WRONG_SHOPS, ids=[repr(row[0][-40:]) for row in WRONG_SHOPS]
)
def test_a_mistake_in_shop_toml_is_named_with_its_place(text, path, words, fix):
    _exactly(shop(text), path, words, fix)


OPERATION = '[job]\nnumber = "1"\n[[operations]]\nid = "op10"\nprogram = "O1.nc"\n'
TOOL = OPERATION + "[[operations.tools]]\nnumber = 3\n"
OFFSET = OPERATION + "[[operations.offsets]]\n"
WAIVER = OPERATION + '[[operations.waivers]]\nrule = "r"\nreason = "x"\nby = "np"\n'
SECOND = '[[operations]]\nid = "op20"\nprogram = "O2.nc"\n'
AT = ("operations", 0)

WRONG_JOBS = [
    ("", (), "job.toml has no job", "[job]"),
    ("[job]", ("job",), "[job] has no number", 'number = "4471"'),
    ("job = 'x'", ("job",), "must be a table", ""),
    ("[job]\nnumber = 4471", ("job", "number"), "a short id in quotes, not 4471", 'number = "4471"'),
    ("[job]\nnumber = '44/71'", ("job", "number"), "no id", ""),
    (
        "[job]\nnumber = '1'\nrevision = 'C'",
        ("job", "revision"),
        "unknown key 'revision'",
        "drawing_revision",
    ),
    ("[job]\nnumber = '1'\npart = 4", ("job", "part"), "text in quotes", ""),
    (
        "[job]\nnumber = '1'\ndrawing_revision = false",
        ("job", "drawing_revision"),
        "text in quotes, not false",
        "",
    ),
    (OPERATION.replace("program", "progam"), None, "unknown key 'progam'", "did you mean program?"),
    (OPERATION.replace('program = "O1.nc"', ""), AT, "[[operations]] has no program", ""),
    (OPERATION.replace("op10", "op 10"), (*AT, "id"), "no id", ""),
    (OPERATION + SECOND.replace("op20", "OP10"), ("operations", 1, "id"), "stands twice", ""),
    (OPERATION + SECOND.replace('id = "op20"', ""), ("operations", 1), "has no id", "id ="),
    (OPERATION.replace("O1.nc", "op10\\\\O1.nc"), (*AT, "program"), "forward slashes", ""),
    (OPERATION.replace("O1.nc", "/O1.nc"), (*AT, "program"), "not from the root", ""),
    (OPERATION.replace("O1.nc", "C:/O1.nc"), (*AT, "program"), "not from the root", ""),
    (OPERATION.replace("O1.nc", "../../../O1.nc"), (*AT, "program"), "outside the repository", "common/"),
    (OPERATION.replace("O1.nc", "a/../../../../b/c/O1.nc"), (*AT, "program"), "outside the repository", ""),
    (OPERATION.replace("O1.nc", ""), (*AT, "program"), "no path to a program", ""),
    (OPERATION.replace("O1.nc", "op10/"), (*AT, "program"), "no path to a program", ""),
    (OPERATION.replace("O1.nc", "../.."), (*AT, "program"), "no path to a program", ""),
    (OPERATION + "machines = 'MILL2'", (*AT, "machines"), "a list of ids", "machines = ["),
    (OPERATION + "machines = ['M 2']", (*AT, "machines", 0), "no id", ""),
    (OPERATION + "machines = ['M', 'M']", (*AT, "machines", 1), "twice", ""),
    (OPERATION + "units = 'cm'", (*AT, "units"), "cannot be 'cm'", "mm"),
    (OPERATION + "fixture = 6", (*AT, "fixture"), "text in quotes", ""),
    (OPERATION + "clearance_z = 'high'", (*AT, "clearance_z"), "a number, not 'high'", ""),
    (OPERATION + "stock = 0.05", (*AT, "stock"), "must be a table", ""),
    (OPERATION + "stock = { top = -1 }", (*AT, "stock", "top"), "less than 0", ""),
    (OPERATION + "stock = { out_of_jaws = -1 }", (*AT, "stock", "out_of_jaws"), "less than 0", ""),
    (OPERATION + "stock = { bar_past_spindle = 'x' }", (*AT, "stock", "bar_past_spindle"), "a number", ""),
    (OPERATION + "stock = { supported = 1 }", (*AT, "stock", "supported"), "true or false", ""),
    (OPERATION + "stock = { tip = 1 }", (*AT, "stock", "tip"), "unknown key", "did you mean top?"),
    (OPERATION + "max_rpm = 0", (*AT, "max_rpm"), "not above 0", ""),
    (OPERATION + "continuous = 'yes'", (*AT, "continuous"), "true or false", ""),
    (OPERATION + "alternative_to = 'op10'", (*AT, "alternative_to"), "no alternative to itself", ""),
    (
        OPERATION + "alternative_to = 'op11'\n" + SECOND,
        (*AT, "alternative_to"),
        "no operation 'op11'",
        "op20",
    ),
    (
        OPERATION + "alternative_to = 'op20'\n" + SECOND + "alternative_to = 'op10'",
        None,
        "is an alternative itself",
        "name the one",
    ),
    (OFFSET, (*AT, "offsets", 0), "has no code", ""),
    (OFFSET + "code = 'G53'", (*AT, "offsets", 0, "code"), "no work offset", ""),
    (OFFSET + "code = 'G54.1'", (*AT, "offsets", 0, "code"), "no work offset", ""),
    (OFFSET + "code = 'G54.1 P0'", (*AT, "offsets", 0, "code"), "no work offset", ""),
    (OFFSET + "code = 'G54.1 P301'", (*AT, "offsets", 0, "code"), "no work offset", ""),
    (OFFSET + "code = 'G154 P100'", (*AT, "offsets", 0, "code"), "no work offset", ""),
    (OFFSET + "code = 'G59.4'", (*AT, "offsets", 0, "code"), "no work offset", ""),
    (OFFSET + "code = 'G54'\n[[operations.offsets]]\ncode = 'g54'", (*AT, "offsets", 1, "code"), "twice", ""),
    (OFFSET + "code = 'G54'\norigin = 3", (*AT, "offsets", 0, "origin"), "text in quotes", ""),
    (TOOL.replace("number = 3", ""), (*AT, "tools", 0), "has no number", ""),
    (TOOL.replace("= 3", "= 0"), (*AT, "tools", 0, "number"), "less than 1", ""),
    (TOOL.replace("= 3", "= '3'"), (*AT, "tools", 0, "number"), "a whole number", ""),
    (TOOL + "[[operations.tools]]\nnumber = 3", (*AT, "tools", 1, "number"), "tool 3 stands twice", ""),
    (TOOL + "stick_out = -1.25", (*AT, "tools", 0, "stick_out"), "-1.25 is not above 0", "stick_out = 1.25"),
    (TOOL + "stickout = 1.25", (*AT, "tools", 0, "stickout"), "unknown key", "did you mean stick_out?"),
    (TOOL + "diameter = 0", (*AT, "tools", 0, "diameter"), "not above 0", ""),
    (TOOL + "description = 3", (*AT, "tools", 0, "description"), "text in quotes", ""),
    (TOOL + "h = -1", (*AT, "tools", 0, "h"), "less than 0", ""),
    (TOOL + "d = 1.5", (*AT, "tools", 0, "d"), "a whole number", ""),
    (TOOL + "offset = '3'", (*AT, "tools", 0, "offset"), "a whole number", ""),
    (TOOL + "nose_radius = -0.4", (*AT, "tools", 0, "nose_radius"), "less than 0", ""),
    (TOOL + "insert = 1", (*AT, "tools", 0, "insert"), "text in quotes", ""),
    (TOOL + "large = 'yes'", (*AT, "tools", 0, "large"), "true or false", ""),
    (TOOL + "through_coolant = 1", (*AT, "tools", 0, "through_coolant"), "true or false", ""),
    (WAIVER, (*AT, "waivers", 0), "neither a tool nor a line", ""),
    (WAIVER.replace('rule = "r"', 'rule = "*"') + "tool = 3", (*AT, "waivers", 0, "rule"), "wild-cards", ""),
    (WAIVER.replace('reason = "x"', "") + "tool = 3", (*AT, "waivers", 0), "has no reason", ""),
    (WAIVER.replace('by = "np"', "") + "tool = 3", (*AT, "waivers", 0), "has no by", ""),
    (WAIVER + "line = 3", (*AT, "waivers", 0, "line"), "text in quotes", ""),
]


@pytest.mark.parametrize(
    ("text", "path", "words", "fix"), WRONG_JOBS, ids=[repr(row[0][-40:]) for row in WRONG_JOBS]
)
def test_a_mistake_in_job_toml_is_named_with_its_place(text, path, words, fix):
    _exactly(job(text), path, words, fix)


def _exactly(read, path, words, fix):
    noun, problems = read
    assert noun is None
    if path is not None:  # one mistake, one problem
        assert [problem.path for problem in problems] == [path]
    assert words in problems[0].message
    assert fix in (problems[0].fix or "")


def test_all_mistakes_are_found_in_one_go():
    noun, problems = shop(
        "[shop]\nnam = 1\n[policy]\nmax_carries = -1\n" + PERSON * 2 + MACHINE + "pocket = 3\n"
    )
    assert noun is None
    assert len(problems) == 4


def test_a_job_against_its_shop():
    known = shop(SHOP)[0]
    assert job_against_shop(job(JOB)[0], known) == ()
    unknown = job(JOB.replace('"MILL2"', '"MILL9"', 1).replace('by = "np"', 'by = "kp"'))[0]
    machine, waiver = job_against_shop(unknown, known)
    assert machine.path == ("operations", 0, "machines", 0)
    assert "'MILL9', which is not in shop.toml" in machine.message
    assert "did you mean MILL2?" in machine.fix
    assert waiver.path == ("operations", 0, "waivers", 0, "by")
    assert "'kp', no programmer or quality person here" in waiver.message
    assert "no machines here yet" in job_against_shop(unknown, shop("")[0])[0].fix


def test_machines_of_two_kinds_run_no_program_of_one():
    lathe = '[[machines]]\nid = "LATHE9"\ntype = "lathe"\nunits = "mm"\n'
    known = shop(SHOP + lathe)[0]
    both = job(JOB.replace('"MILL2"', '"MILL2", "LATHE9"', 1))[0]
    (problem,) = job_against_shop(both, known)
    assert problem.path == ("operations", 0, "machines")
    assert "machines of two kinds: LATHE9 (lathe) and MILL2 (mill)" in problem.message
    assert "write an operation for each" in problem.fix


def test_without_the_folder_a_program_is_not_judged():
    noun, problems = job(OPERATION.replace("O1.nc", "../../../O1.nc"), folder=None)
    assert problems == ()
    assert noun is not None


def test_every_key_is_described_and_every_wrong_key_of_every_table_is_caught():
    seen = 0
    for table in _tables(SHOP_FILE) + _tables(JOB_FILE):
        for field in table.fields:
            seen += 1
            assert field.doc.endswith(".")
            assert (
                field.example
                or field.kind in (Kind.TABLE, Kind.TABLES)
                or table.heading in ("stock", "rapid", "travel")
            )
        assert table.field(table.fields[0].key + "x") is None
    assert seen > 80


def _tables(table):
    inner = [one.table for one in table.fields if one.table is not None]
    return [table] + [deep for one in inner for deep in _tables(one)]

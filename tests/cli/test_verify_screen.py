import pytest

from tests.fakes.shop_folder import JOB, JOB_PATH, MAIN, PROGRAM, ShopFolder


@pytest.fixture
def shop(tmp_path, capsys, monkeypatch) -> ShopFolder:
    return ShopFolder(tmp_path / "shop", capsys, monkeypatch).brought_by(_made)


def _made(made: ShopFolder) -> None:
    made.at("2026-02-02T09:00:00Z")
    made.begin()


def test_no_finding_is_never_more_than_that(shop):
    said = shop.run("verify", "4471")
    assert "4471/op10 on MILL2" in said
    assert "No finding from " in said
    assert " not computed (" in said
    assert "safe" not in said.lower()


def test_a_refusal_is_shown_with_line_and_remedy_and_ends_with_1(shop):
    shop.put(PROGRAM, MAIN.replace("G43 H4", "G43 H5"))
    said = shop.run("verify", "4471/op10", "--machine", "mill2", status=1)
    assert f"refuse  {PROGRAM}:7: T4: H5, needed H4. [h-not-tool]" in said
    assert "N50 G43 H5 Z1. M8" in said
    assert "remedy: write the tool's own H" in said
    assert "One finding from " in said


def test_what_two_machines_share_is_one_finding_in_the_list_and_in_the_count(shop):
    with (shop.folder / "shop.toml").open("a") as file:
        file.write('[[machines]]\nid = "MILL3"\ntype = "mill"\nunits = "inch"\n')
    shop.put(JOB_PATH, JOB.replace('["MILL2"]', '["MILL2", "MILL3"]'))
    shop.put(PROGRAM, MAIN.replace("G43 H4", "G43 H5"))
    said = shop.run("verify", "4471/op10", status=1)
    assert said.count("[h-not-tool]") == 1
    assert "(MILL2, MILL3)" in said
    assert "One finding from " in said


def test_a_waiver_is_shown_with_its_reason(shop):
    shop.put(PROGRAM, MAIN.replace("G43 H4", "G43 H5"))
    waiver = '[[operations.waivers]]\nrule = "h-not-tool"\ntool = 4\nreason = "H5 is this one"\nby = "np"\n'
    shop.put(JOB_PATH, JOB + waiver)
    said = shop.run("verify", "4471/op10")
    assert "waived  " in said
    assert "np: H5 is this one" in said
    assert "No finding (1 waived) from " in said
    (finding,) = shop.json("verify", "4471")["findings"]
    assert finding["waived"] is True


def test_a_waiver_that_meets_nothing_is_a_note(shop):
    shop.put(
        JOB_PATH, JOB + '[[operations.waivers]]\nrule = "no-end"\nline = "M30"\nreason = "x"\nby = "np"\n'
    )
    assert "note: the waiver of no-end for M30 meets no finding" in shop.run("verify", "4471")


def test_the_shape_for_scripts(shop):
    shop.put(PROGRAM, MAIN.replace("G43 H4", "G43 H5"))
    said = shop.json("verify", "4471", status=1)
    assert list(said) == ["schema", "findings", "not_computed"]
    (finding,) = said["findings"]
    assert finding == {
        "rule": "h-not-tool",
        "severity": "refuse",
        "operation": "op10",
        "machine": "MILL2",
        "file": PROGRAM,
        "line": 7,
        "tool": "4",
        "message": "T4: H5, needed H4",
        "remedy": "write the tool's own H, or state h for this tool on the setup sheet",
        "waived": False,
    }
    assert {"rule", "why", "operation", "machine", "file", "line"} == set(said["not_computed"][0])


def test_all_rules_are_listed(shop):
    said = shop.run("verify", "--list")
    assert "h-not-tool (refuse, mill)" in said
    listed = shop.json("verify", "--list")["rules"]
    assert len(listed) > 40
    assert f"{len(listed)} rules." in said


def test_nothing_named(shop):
    assert "wrong-call" in shop.run("verify", status=2)

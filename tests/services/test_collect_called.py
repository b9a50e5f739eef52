"""A program two jobs call, of which one was released with another text while the stick was out."""

from tests.fakes.stick_shop import StickShop, edited, program, sub_program
from tracker.records.events import CollectRecord
from tracker.reports.collect_words import decisions
from tracker.services.carriers import carriers
from tracker.services.identify import NamedFile, identify

COMMON, CALLED = "common/O8001.nc", "MILL2/O8001.NC"


def common_shop() -> StickShop:
    """Jobs 5001 and 5002 call common/O8001, and both went out; then 5001 alone is released with another text of it."""
    shop = StickShop()
    shop.repo.save({COMMON: sub_program(8001)})
    for job in ("5001", "5002"):
        shop.add_job(job, f"O{job}.nc", program(int(job), sub=8001))
        shop.check_in(f"{job}/op10")
        shop.prove(f"{job}/op10")
        shop.release(job)
    return shop


def released_anew(shop: StickShop) -> None:
    shop.save(COMMON, sub_program(8001, depth="0.3"))
    shop.check_in("5001/op10")
    shop.prove("5001/op10")
    shop.release("5001")


def verdict_on(shop: StickShop, path: str):
    return next(one for one in shop.collect(dry_run=True).files if one.file == path)


def test_what_is_released_for_one_job_and_not_for_the_other_is_to_be_decided():
    shop = common_shop()
    shop.export()
    assert decisions(shop.collect(dry_run=True)) == ()
    released_anew(shop)
    one = verdict_on(shop, CALLED)
    assert (one.verdict, one.job, one.stopped) == ("as-exported", "5002", False)
    assert "out of date for 5001/op10 r2 (release 2), released with another text of it" in one.message
    (line,) = decisions(shop.collect(dry_run=True))
    assert line.startswith(f"{CALLED}: out of date for a job that calls it too: do not run that job")


def test_an_edit_taken_in_is_put_down_as_the_revision_of_its_own_job():
    shop = common_shop()
    shop.export()
    shop.files[CALLED] = edited(shop.files[CALLED], (b"0.25", b"0.3"))
    shop.collect(checkin="5001/op10", reason="too shallow")
    records = [one.record for one in shop.repo.ledger().records]
    record = [one for one in records if isinstance(one, CollectRecord)][-1]
    (file,) = [one for one in record.files if one.path == CALLED]
    assert file.taken_as == shop.revision("5001/op10@r2").name
    assert shop.revision("5002/op10@r2").name != file.taken_as
    code = shop.revision("5001/op10@r2").record.operation_fingerprint
    (one,) = carriers(shop.repo.ledger(), "5001", {code}, shop.now)
    assert CALLED in one.files


def test_so_is_one_out_of_a_dump():
    shop = common_shop()
    shop.export()
    called = edited(shop.files.pop(CALLED), (b"0.25", b"0.3"))
    main = shop.files.pop("MILL2/O5001.NC")
    shop.files["MILL2/ALL.NC"] = main.rstrip(b"%\r\n") + b"\r\n" + called.lstrip(b"%\r\n")
    shop.collect(checkin="5001/op10", reason="too shallow")
    code = shop.revision("5001/op10@r2").record.operation_fingerprint
    (one,) = carriers(shop.repo.ledger(), "5001", {code}, shop.now)
    assert "MILL2/ALL.NC#O8001" in one.files


def test_of_a_stick_the_other_job_never_went_to_nothing_is_said():
    shop = common_shop()
    shop.export("5002")
    released_anew(shop)
    one = verdict_on(shop, CALLED)
    assert (one.verdict, one.job) == ("as-exported", "5002")
    assert "out of date" not in one.message
    assert decisions(shop.collect(dry_run=True)) == ()


def test_identify_says_for_which_job_it_is_not():
    shop = common_shop()
    shop.export()
    file = NamedFile(name="O8001.NC", data=shop.files[CALLED])
    (one,) = identify(shop.desk(), shop.shaper, [file], "MILL2").files
    assert (one.may_run, "; not for " in one.why) == (True, False)
    released_anew(shop)
    (one,) = identify(shop.desk(), shop.shaper, [file], "MILL2").files
    assert one.may_run
    assert one.why.endswith("; not for 5001/op10 r2, released with another text of it")

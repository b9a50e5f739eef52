"""What git answers to a push (lines as git 2.39 prints them)."""

import pytest

from tracker.store.sharing_push import answer_of, cannot_write
from tracker.store.sharing_wire import fault

MAIN = "!\tabc:refs/heads/main\t[{0}] ({1})\n"
DECLINED = MAIN.format("remote rejected", "pre-receive hook declined")


@pytest.mark.parametrize(
    ("status", "out", "said", "answer"),
    [
        (0, "", "", "accepted"),
        (1, MAIN.format("rejected", "fetch first"), "", "race"),
        (1, MAIN.format("remote rejected", "cannot lock ref 'refs/heads/main'"), "", "race"),
        (
            1,
            MAIN.format("rejected", "atomic push failed") + MAIN.format("rejected", "already exists"),
            "",
            "race",
        ),
        (1, MAIN.format("remote rejected", "pre-receive hook declined"), "remote: no\n", "refused"),
        (1, DECLINED, "remote: closed\nremote: - branch-rewritten: would no longer hold a\n", "race"),
        (1, DECLINED, "remote: - branch-rewritten: a\nremote: - shop-with-other: b\n", "refused"),
        (1, DECLINED, "remote: - shop-with-other: b\n", "refused"),
        (1, MAIN.format("remote rejected", "branch is currently checked out"), "", "refused"),
    ],
)
def test_answers(status, out, said, answer):
    found = answer_of(status, out, said)
    assert found is not None
    assert found.answer == answer


def test_the_servers_own_words_are_kept():
    found = answer_of(
        1, MAIN.format("remote rejected", "pre-receive hook declined"), "remote: not so\nerror: x\n"
    )
    assert found is not None
    assert found.lines == ("not so",)


def test_no_answer_at_all():
    assert answer_of(128, "", "fatal: x") is None


@pytest.mark.parametrize(
    ("said", "name"),
    [
        ("fatal: Authentication failed for 'https://x'", "not-let-in"),
        ("fatal: could not read Username for 'https://x': terminal prompts disabled", "not-let-in"),
        (
            "git@x: Permission denied (publickey).\nfatal: Could not read from remote repository.",
            "not-let-in",
        ),
        ("fatal: unable to access 'https://x/': Could not resolve host: x", "unreachable"),
        ("ssh: connect to host x port 22: Connection refused", "unreachable"),
        ("fatal: the receiving end does not support --atomic push", "git-failed"),
    ],
)
def test_why_it_was_not_reached(said, name):
    assert fault("x", ("fetch",), 128, said).name == name


@pytest.mark.parametrize(
    ("lines", "name"),
    [
        (("fatal: write error: No space left on device",), "disk-full"),
        (("fatal: sha1 file 'x/pack/tmp_idx_1' write error. Out of diskspace",), "disk-full"),
        (
            ("error: cannot update ref 'refs/heads/main': couldn't write 'x/refs/heads/main.lock'",),
            "not-written",
        ),
        (("unpacker error", "fatal: unable to write: Disk quota exceeded"), "disk-full"),
        (("error: cannot open objects: Read-only file system",), "no-permission"),
        (("remote rejected: Permission denied",), "no-permission"),
        (("- record-changed: a proof was edited: No space left on device",), None),
        (("hook declined",), None),
        ((), None),
    ],
)
def test_a_server_that_cannot_write_has_refused_nothing(lines, name):
    assert cannot_write(lines) == name

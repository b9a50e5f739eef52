"""The benchmark of signatures answers right, and says so by its status."""

from tests.benchmarks import signatures


def test_answers_are_right_and_a_wrong_one_is_counted():
    rows = signatures.made(30)
    assert signatures.ours(rows)[1] == 0
    swapped = [(record, armoured, rows[0][2]) for record, armoured, _ in rows]
    assert signatures.ours(swapped)[1] == 30 - 30 // signatures.PEOPLE


def test_ssh_keygen_agrees(outside_program, tmp_path):
    outside_program("ssh-keygen")
    assert signatures.peer(signatures.made(5), tmp_path)[1] == 0

from tests.benchmarks import export


def test_a_small_export_is_measured_in_parts(tmp_path, monkeypatch):
    monkeypatch.setenv("PROVEOUT_NOW", "2026-01-01T00:00:00Z")
    head, parts = export.main([str(tmp_path), "10", "40000"]).splitlines()
    assert head.startswith("10 programs, 0 MB: cp -r + sync + read back ")
    named = [part.split()[0] for part in parts.removeprefix("parts: ").split(", ")]
    assert named[-1] == "all"
    # several go on at once, and are told as they end
    assert sorted(named[:-1]) == ["ahead", "copied", "derived", "named", "read", "recorded", "shaped"]
    assert list(tmp_path.iterdir()) == []


def test_a_long_text_has_about_the_bytes_asked_for_and_another_code_each_revision():
    first, second = (export.long_text(20_000)(1001, revision) for revision in (1, 2))
    assert 15_000 < len(first) < 21_000
    assert first != second

import importlib
import pkgutil
import re

import pytest

import tracker
from tracker.patterns import lazy_pattern


def all_patterns():
    found = {}
    for module in pkgutil.walk_packages(tracker.__path__, "tracker."):
        if "._" in module.name or module.name.endswith("__main__") or module.name.endswith("hook_start"):
            continue
        for name, value in vars(importlib.import_module(module.name)).items():
            if isinstance(value, lazy_pattern):
                found[f"{module.name}.{name}"] = value
    return found


def test_every_pattern_can_be_compiled():
    patterns = all_patterns()
    assert len(patterns) > 50
    for name, pattern in patterns.items():
        assert isinstance(pattern.pattern, str | bytes), name


def test_it_is_compiled_at_its_first_use_and_only_then(monkeypatch):
    compiled = []
    real = re.compile
    monkeypatch.setattr(re, "compile", lambda text: compiled.append(text) or real(text))
    pattern = lazy_pattern(r"(?i)o([0-9]+)")
    assert compiled == []
    assert pattern.fullmatch("O12")[1] == "12"
    assert pattern.fullmatch("o13")[1] == "13"
    assert compiled == [r"(?i)o([0-9]+)"]


def test_one_that_is_wrong_says_so_when_it_is_used():
    pattern = lazy_pattern("(")
    with pytest.raises(re.error):
        pattern.match("x")

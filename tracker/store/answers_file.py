"""The filled-in prove-out form, from its file."""

from tracker.records.events import Step
from tracker.services.prove_form import steps_from
from tracker.store.toml_files import problem_error, toml_mapping, toml_text


def load_answers(data: bytes, path: str) -> tuple[Step, ...]:
    """The answered steps.

    Raises BadCall (``wrong-form``, ``broken-toml``, ``not-utf8``) with ``path:line`` and every mistake.
    """
    steps, problems = steps_from(toml_mapping(toml_text(data, path), path))
    if problems:
        raise problem_error("wrong-form", data, path, problems)
    return steps

"""Every failure that is claimed to be handled has a test that carries its number."""

from tests import failures


def test_every_failure_of_the_catalogue_has_a_test() -> None:
    """Read from the tests' own marks, so that none is lost when files move."""
    assert len(failures.NAMES) == 75
    assert failures.NAMES.keys() - failures.tests().keys() == set()


def test_the_guide_holds_the_table_as_it_is() -> None:
    guide = failures.GUIDE.read_text(encoding="utf-8")
    assert failures.in_guide(guide) == guide, "run python -m tests.failures --write"


def test_every_mark_names_a_failure_of_the_catalogue() -> None:
    assert failures.tests().keys() - failures.NAMES.keys() == set()
    assert list(failures.NAMES) == list(range(1, len(failures.NAMES) + 1))

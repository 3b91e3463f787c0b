"""Every failure that is claimed to be handled has a test that carries its number."""

from tests import failures

# What the journal, its sending, the phones and the lock answer for; more join as they are shown.
SHOWN = {5, 11, 22, *range(26, 52), *range(62, 73), 74}


def test_every_failure_claimed_has_a_test() -> None:
    """Read from the tests' own marks, so that none is lost when files move."""
    assert SHOWN - failures.tests().keys() == set()


def test_every_mark_names_a_failure_of_the_catalogue() -> None:
    assert failures.tests().keys() - failures.NAMES.keys() == set()
    assert list(failures.NAMES) == list(range(1, len(failures.NAMES) + 1))

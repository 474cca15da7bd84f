"""Options of the command line: whole numbers, and complaints in our own words. Expected texts: frozen behaviour."""

import pytest

from trysquare.cli.main import main
from trysquare.cli.options import DRAWS, whole
from trysquare.core.errors import InputError


@pytest.mark.parametrize(("text", "number"), [("50", 50), ("1000000", 1_000_000), ("+500", 500)])
def test_whole_numbers_within_their_limits_are_read(text, number):
    assert whole("--draws", *DRAWS)(text) == number


@pytest.mark.parametrize("text", ["49", "1000001", "-5", "2e3", "few", "", "500.0", "9" * 30])
def test_others_are_refused(text):
    with pytest.raises(InputError, match=r"at least 50, at most 1000000") as refused:
        whole("--draws", *DRAWS)(text)
    assert refused.value.found == f'"{text}"'


@pytest.mark.parametrize(
    ("command", "said"),
    [
        ("check", "JOB must be given; got nothing."),
        ("judge JOB --seed -1", '--seed: the value must be a whole number, at least 0; got "-1".'),
        ("judge JOB --threads 0", '--threads: the value must be a whole number, at least 1; got "0".'),
        ("judge JOB --drows 5", '"--drows" must be an option of this command; got no such option. Did you mean'),
        ("choose JOB --draws few", '--draws must be a whole number; got "few".'),
        ("decide --df 1,2", '--df must be a number; got "1,2".'),
        ("decide --prove all", '--prove must be one of conformity, non-conformity; got "all".'),
        ("air --t", "--t must have its value after it; got nothing."),
        ("air --t 20 --p 1e5 --rh 5 --vapour-pressure 4", "the options must be as its help says; got"),
    ],
)
def test_bad_options_are_said_plainly(command, said, capsys):
    assert main(command.split()) == 2
    assert said in capsys.readouterr().err

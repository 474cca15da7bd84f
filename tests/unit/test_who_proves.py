"""A part that nobody could reject is not said to conform; one that is proven to is (negative twin)."""

import pytest
from job_folder import job_with

from trysquare.jobs.judge import judge
from trysquare.jobs.loading.load import load
from trysquare.report.terminal import summary

TOML = "job.toml"
#: Left out: the flatness of the top, whose six points carry no statement.
FLATNESS = '[[requirement]]\nid = "1"\nname = "Top face"\non = "top"\nflatness = { zone = 0.05 }\n'
PROVES_NOT = "which is no proof that all conform"


@pytest.mark.parametrize(
    ("who", "says", "never"),
    [("customer", PROVES_NOT, "proven to conform"), ("supplier", "are proven to conform", PROVES_NOT)],
)
def test_the_part_s_verdict_says_what_is_proven(who, says, never, tmp_path):
    folder = job_with(tmp_path, (TOML, 'who_proves = "supplier"', f'who_proves = "{who}"'), (TOML, FLATNESS, ""))
    result = judge(load(folder), draws=300)
    text = " ".join(summary(result, files=[]).split())
    assert result.part.verdict == "accept"
    for said in (result.part.text, text):
        assert says in said
        assert never not in said
    assert ("no proof that it conforms" in result.rule.text) == (who == "customer")

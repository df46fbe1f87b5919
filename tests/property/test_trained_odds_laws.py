"""What speaks for a cause never lowers it, once a suggester has learnt from cases.

Evidence speaks for one cause and not for another where the expert table links it to
the first alone, where a tenth of its cases carry it, and where no case of the other
does. The counts are made here once more. SAFETY_EXAMPLES in the environment says on how
many cases the law is tried.
"""

import os
from collections import Counter

import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from analytics.advice.expert_prior import NO_LINK
from analytics.advice.expert_table import default_expert_table
from tests.truth.suggest_fleet import draw_returns, trained

N_EXAMPLES = int(os.environ.get("SAFETY_EXAMPLES", "120"))
SIZES = (100, 2_000)  # too few to weigh the evidence, and enough
LEAST_SHARE = 0.1
COLUMNS = {
    "symptom": "symptoms",
    "finding": "intake_findings",
    "error_word": "charger_error_codes",
}


def carried(cases, causes):
    """Return how many cases of each cause carry each code, and can carry one at all."""
    seen, of = Counter(), Counter()
    for kind, column in COLUMNS.items():
        for cell, cause in zip(cases[column], causes, strict=True):
            of[kind, cause] += kind != "finding" or cell is not None
            for code in set((cell or "").split(";")) - {""}:
                seen[kind, code, cause] += 1
    return seen, of


def speaking(seen, of):
    """Return kind, code and cause with the causes that the code says nothing for."""
    table = default_expert_table()
    names = ["kind", "code", "cause"]
    linked = table[table["probability"] > NO_LINK]
    links = set(linked[names].itertuples(index=False, name=None))
    causes = sorted(set(table["cause"]))
    found = {}
    for kind, code, cause in sorted(links):
        enough = seen[kind, code, cause] >= LEAST_SHARE * of[kind, cause] > 0
        others = [m for m in causes if (kind, code, m) not in links | set(seen)]
        if enough and others:
            found[kind, code, cause] = others
    return found


@pytest.fixture(scope="module", params=SIZES, ids="{}_cases".format)
def learnt(request):
    returns = draw_returns(request.param, np.random.default_rng(1))
    returns = returns.take(np.arange(returns.first, len(returns)))
    found = speaking(*carried(returns.cases, returns.cause))
    assert len(found) > 20
    known = {
        kind: sorted({code for k, code, _ in found if k == kind}) for kind in COLUMNS
    }
    return trained(returns), found, known


@settings(max_examples=N_EXAMPLES, deadline=None)
@given(data=st.data())
def test_what_speaks_for_a_cause_never_lowers_it(learnt, data):
    suggester, found, known = learnt
    kind, code, cause = data.draw(st.sampled_from(sorted(found)))
    other = data.draw(st.sampled_from(found[kind, code, cause]))
    case = {
        COLUMNS[name]: data.draw(st.lists(st.sampled_from(known[name]), max_size=3))
        for name in COLUMNS
    }
    # The first finding also says that someone looked and did not see the rest.
    case["intake_findings"] = case["intake_findings"] or ["clean"]
    # What is denied is taken back when it is reported after all.
    denied = st.sampled_from([c for c in known["symptom"] if c != code])
    case["symptoms_denied"] = data.draw(st.lists(denied, max_size=2))
    case["opened_before_arrival"] = data.draw(st.sampled_from(("yes", "no", None)))
    more = case | {COLUMNS[kind]: [*case[COLUMNS[kind]], code]}

    before, after = suggester.probabilities(pd.DataFrame([case, more])).to_numpy()

    m, n = suggester.causes.index(cause), suggester.causes.index(other)
    assert after[m] / after[n] >= before[m] / before[n] * (1 - 1e-9)

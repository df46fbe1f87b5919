import json

import numpy as np
import pandas as pd
import pytest

from analytics.advice.suggest import FaultSuggester

N = 240
CASES = pd.DataFrame(
    {
        "symptoms": ["hot", "offline", "hot;offline"] * 80,
        "symptoms_denied": ["offline", "", ""] * 80,
        "intake_findings": ["brown", "clean", ""] * 80,
        "charger_error_codes": ["", "WeakSignal", ""] * 80,
        "model": ["M1", "M2"] * 120,
        "age_days": range(N),
        "symptom_text": ["handle brown", "no network", "handle and network"] * 80,
        "received_on": pd.date_range("2025-01-01", periods=N),
    }
)
CAUSE = ["pin", "radio", "pin"] * 80
TABLE = pd.DataFrame(
    [("symptom", "hot", "crimp", 0.6)],
    columns=["kind", "code", "cause", "probability"],
)


@pytest.fixture(scope="module")
def trained():
    return FaultSuggester.fit(
        CASES, CAUSE, expert_table=TABLE, rng=np.random.default_rng(1)
    )


@pytest.fixture
def saved(trained, tmp_path):
    trained.save(tmp_path / "new" / "folder")
    return tmp_path / "new" / "folder"


def test_a_loaded_suggester_gives_the_same_probabilities(trained, saved):
    loaded = FaultSuggester.load(saved)

    difference = loaded.probabilities(CASES) - trained.probabilities(CASES)
    assert difference.abs().to_numpy().max() <= 1e-12


def test_a_loaded_suggester_gives_the_same_answer(trained, saved):
    loaded = FaultSuggester.load(saved)
    intake = CASES.iloc[0]

    assert loaded.suggest(intake) == trained.suggest(intake)
    assert loaded.source == "from the expert table, 240 own cases"
    assert (loaded.as_of, loaded.n_unlabelled) == ("2025-08-28", 0)
    assert (loaded.weights, loaded.half_life) == (trained.weights, trained.half_life)
    assert loaded.n_after_as_of == 0


def test_the_evaluation_is_kept_undefined_figures_too(trained, saved):
    loaded = FaultSuggester.load(saved).evaluation

    assert loaded.suggester == trained.evaluation.suggester
    assert loaded.class_shares == trained.evaluation.class_shares
    # Arrays have no equality of their own; a figure of 1e-17 would print otherwise.
    assert repr(loaded) == repr(trained.evaluation)
    assert loaded.calibration.n.dtype == trained.evaluation.calibration.n.dtype
    assert np.isnan(loaded.months[0].top_1)


def test_a_suggester_without_cases_texts_and_evaluation_can_be_saved(tmp_path):
    empty = FaultSuggester.fit(
        pd.DataFrame({"symptoms": []}),
        [],
        expert_table=TABLE,
        rng=np.random.default_rng(1),
    )
    empty.save(str(tmp_path))

    loaded = FaultSuggester.load(str(tmp_path))

    assert loaded.evaluation is None
    assert loaded.not_scored == empty.not_scored
    assert loaded.suggest({"symptoms": "hot"}) == empty.suggest({"symptoms": "hot"})


def test_numbers_stay_numbers_as_causes(tmp_path):
    FaultSuggester.fit(
        pd.DataFrame({"symptoms": ["a", "b"]}), [1, 2], rng=np.random.default_rng(1)
    ).save(tmp_path)

    assert FaultSuggester.load(tmp_path).causes == (1, 2)


def test_the_files_hold_no_pickle(saved):
    with np.load(saved / "suggester.npz", allow_pickle=False) as arrays:
        assert all(arrays[name].dtype != object for name in arrays)


def change(folder, **fields):
    file = folder / "suggester.json"
    envelope = json.loads(file.read_text(encoding="utf-8")) | fields
    file.write_text(json.dumps(envelope), encoding="utf-8")


def test_damaged_arrays_are_refused(saved):
    data = bytearray((saved / "suggester.npz").read_bytes())
    data[len(data) // 2] ^= 1
    (saved / "suggester.npz").write_bytes(bytes(data))

    with pytest.raises(ValueError, match="was changed or damaged: train the suggester"):
        FaultSuggester.load(saved)


def test_a_changed_description_is_refused(saved):
    about = json.loads((saved / "suggester.json").read_text(encoding="utf-8"))["about"]
    change(saved, about=about | {"causes": ["crimp", "radio", "pin"]})

    with pytest.raises(ValueError, match="was changed or damaged: train the suggester"):
        FaultSuggester.load(saved)


@pytest.mark.parametrize("schema", [1, 3])
def test_an_older_or_newer_schema_is_refused(saved, schema):
    change(saved, schema=schema)

    words = f"has schema {schema}, this version reads 2: train"
    with pytest.raises(ValueError, match=words):
        FaultSuggester.load(saved)


@pytest.mark.parametrize(
    ("text", "message"),
    [("{", "is damaged: train"), ("[]", "has schema None, this version reads 2")],
)
def test_a_description_that_is_none_is_refused(saved, text, message):
    (saved / "suggester.json").write_text(text, encoding="utf-8")

    with pytest.raises(ValueError, match=message):
        FaultSuggester.load(saved)


def test_a_missing_suggester_is_named_with_the_remedy(tmp_path):
    with pytest.raises(ValueError, match=r"no trained suggester in .*: train the"):
        FaultSuggester.load(tmp_path)

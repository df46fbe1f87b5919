"""A trained suggester as two files: arrays, and a description of them.

Loading never runs code: the arrays are read without pickle, the rest is JSON. Both
are checked by their SHA-256 against damage; a wrong one is refused, the remedy is to
train again.
"""

import hashlib
import io
import json
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Any

import numpy as np
import sklearn
from scipy import sparse

from analytics.advice.counting_blocks import CountingBlock
from analytics.advice.evaluation import Evaluation, Month, NotScored
from analytics.advice.evaluation_curves import ByCause, CalibrationCurve, RiskCoverage
from analytics.advice.evaluation_scores import Scores
from analytics.advice.expert_prior import Label
from analytics.advice.fault_model import FaultModel
from analytics.advice.like_cases import LikeCases
from analytics.advice.text_block import TextBlock

SCHEMA = 2
ARRAYS = "suggester.npz"
DESCRIPTION = "suggester.json"
REMEDY = "train the suggester again (publish with training)"

Arrays = dict[str, np.ndarray[Any, np.dtype[Any]]]


@dataclass(frozen=True, slots=True)
class Trained:
    """Everything a suggester knows; `as_of` is ISO text, None without dates."""

    causes: tuple[Label, ...]
    model: FaultModel
    like: LikeCases
    n_cases: int
    n_unlabelled: int
    n_after_as_of: int
    as_of: str | None
    has_expert_table: bool
    evaluation: Evaluation | NotScored


def save(trained: Trained, folder: Path) -> None:
    """Write both files into a folder, made if need be."""
    folder.mkdir(parents=True, exist_ok=True)
    buffer = io.BytesIO()
    np.savez_compressed(buffer, allow_pickle=False, **_arrays(trained))
    about = _about(trained)
    envelope = {
        "schema": SCHEMA,
        "libraries": {"numpy": np.__version__, "scikit-learn": sklearn.__version__},
        "arrays_sha256": hashlib.sha256(buffer.getvalue()).hexdigest(),
        "about_sha256": _hash_of(about),
        "about": about,
    }
    (folder / ARRAYS).write_bytes(buffer.getvalue())
    text = json.dumps(envelope, ensure_ascii=False, indent=1, allow_nan=False)
    (folder / DESCRIPTION).write_text(text, encoding="utf-8")


def load(folder: Path) -> Trained:
    """Read both files back.

    Raises
    ------
    ValueError
        A file is missing, damaged or of another schema; the message says what to do.
    """
    try:
        envelope = json.loads((folder / DESCRIPTION).read_text(encoding="utf-8"))
        packed = (folder / ARRAYS).read_bytes()
    except FileNotFoundError as error:
        raise ValueError(f"no trained suggester in {folder}: {REMEDY}") from error
    except ValueError as error:
        raise ValueError(f"{folder / DESCRIPTION} is damaged: {REMEDY}") from error
    schema = envelope.get("schema") if isinstance(envelope, dict) else None
    if schema != SCHEMA:
        raise ValueError(
            f"the suggester in {folder} has schema {schema}, this version reads"
            f" {SCHEMA}: {REMEDY}"
        )
    about = envelope.get("about")
    hashes = (hashlib.sha256(packed).hexdigest(), _hash_of(about))
    if hashes != (envelope.get("arrays_sha256"), envelope.get("about_sha256")):
        raise ValueError(f"the suggester in {folder} was changed or damaged: {REMEDY}")
    with np.load(io.BytesIO(packed), allow_pickle=False) as arrays:
        return _trained(about, dict(arrays))


def _hash_of(about: object) -> str:
    text = json.dumps(about, sort_keys=True)
    return hashlib.sha256(text.encode()).hexdigest()


def _arrays(trained: Trained) -> Arrays:
    model, like = trained.model, trained.like
    arrays: Arrays = {
        "log_prior": model.log_prior,
        "weights": model.weights,
        "like_indices": like.carried.indices,
        "like_ends": like.carried.indptr,
        "like_cause": like.cause,
    }
    for block in model.blocks:
        arrays[f"{block.name}_log_p"] = block.log_p
        arrays[f"{block.name}_n_seen"] = block.n_seen
        arrays[f"{block.name}_n_of"] = block.n_of
        if block.log_not is not None:
            arrays[f"{block.name}_log_not"] = block.log_not
    if model.text is not None:
        arrays |= {
            "text_idf": model.text.idf,
            "text_classes": model.text.classes,
            "text_share": model.text.share,
            "text_coefficients": model.text.coefficients,
            "text_intercepts": model.text.intercepts,
        }
    return arrays


def _about(trained: Trained) -> dict[str, Any]:
    text = trained.model.text
    return {
        "causes": list(trained.causes),
        "n_cases": trained.n_cases,
        "n_unlabelled": trained.n_unlabelled,
        "n_after_as_of": trained.n_after_as_of,
        "as_of": trained.as_of,
        "has_expert_table": trained.has_expert_table,
        "half_life": trained.model.half_life,
        "blocks": [
            {"name": b.name, "codes": list(b.codes), "edges": list(b.edges)}
            for b in trained.model.blocks
        ],
        "text": text
        and {
            "words": list(text.words),
            "pieces": list(text.pieces),
            "piece_sizes": list(text.piece_sizes),
            "n_texts": text.n_texts,
        },
        "evaluation": _plain(asdict(trained.evaluation)),
    }


def _trained(about: dict[str, Any], arrays: Arrays) -> Trained:
    blocks = tuple(_block(block, arrays) for block in about["blocks"])
    codes = tuple((block.name, code) for block in blocks for code in block.codes)
    indices, ends = arrays["like_indices"], arrays["like_ends"]
    shape = (len(ends) - 1, len(codes))
    carried = sparse.csr_array((np.ones(len(indices)), indices, ends), shape=shape)
    model = FaultModel(
        log_prior=arrays["log_prior"],
        blocks=blocks,
        text=about["text"] and _text(about["text"], arrays),
        weights=arrays["weights"],
        half_life=about["half_life"],
    )
    return Trained(
        causes=tuple(about["causes"]),
        model=model,
        like=LikeCases(codes, carried, arrays["like_cause"]),
        n_cases=about["n_cases"],
        n_unlabelled=about["n_unlabelled"],
        n_after_as_of=about["n_after_as_of"],
        as_of=about["as_of"],
        has_expert_table=about["has_expert_table"],
        evaluation=_evaluation(about["evaluation"]),
    )


def _block(about: dict[str, Any], arrays: Arrays) -> CountingBlock:
    name = about["name"]
    return CountingBlock(
        name=name,
        codes=tuple(about["codes"]),
        log_p=arrays[f"{name}_log_p"],
        log_not=arrays.get(f"{name}_log_not"),
        n_seen=arrays[f"{name}_n_seen"],
        n_of=arrays[f"{name}_n_of"],
        edges=tuple(about["edges"]),
    )


def _text(about: dict[str, Any], arrays: Arrays) -> TextBlock:
    low, high = about["piece_sizes"]
    return TextBlock(
        words=tuple(about["words"]),
        pieces=tuple(about["pieces"]),
        piece_sizes=(low, high),
        idf=arrays["text_idf"],
        classes=arrays["text_classes"],
        share=arrays["text_share"],
        coefficients=arrays["text_coefficients"],
        intercepts=arrays["text_intercepts"],
        n_texts=about["n_texts"],
    )


def _evaluation(about: dict[str, Any]) -> Evaluation | NotScored:
    if "needed" in about:
        return NotScored(**about)
    plain = _null_to_nan(about)
    return Evaluation(
        **plain
        | {
            "suggester": Scores(**_null_to_nan(plain["suggester"])),
            "class_shares": Scores(**_null_to_nan(plain["class_shares"])),
            "calibration": CalibrationCurve(**_as_arrays(plain["calibration"])),
            "coverage": RiskCoverage(**_as_arrays(plain["coverage"])),
            "causes": ByCause(**_as_arrays(plain["causes"])),
            "months": tuple(Month(**_null_to_nan(month)) for month in plain["months"]),
        }
    )


def _as_arrays(cells: dict[str, Any]) -> Arrays:
    return {name: np.array(values) for name, values in cells.items()}


def _plain(value: Any) -> Any:
    # As JSON knows it: no arrays, and null for an undefined figure.
    if isinstance(value, dict):
        return {name: _plain(cell) for name, cell in value.items()}
    if isinstance(value, np.ndarray):
        return value.tolist()
    if isinstance(value, list | tuple):
        return [_plain(cell) for cell in value]
    return None if isinstance(value, float) and np.isnan(value) else value


def _null_to_nan(cells: dict[str, Any]) -> dict[str, Any]:
    # No field of an evaluation is None, so a null is always an undefined figure.
    return {name: np.nan if cell is None else cell for name, cell in cells.items()}

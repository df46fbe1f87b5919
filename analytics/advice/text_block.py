"""What the free words of an intake say: one line of evidence per cause.

Words and pieces of words (so that a misspelt one still counts) weighted by tf-idf, and
a multinomial logistic regression on them. Its answer divided by the share of the cause
among the texts is a likelihood ratio that adds to the counted evidence.
"""

from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
from scipy import sparse, special
from sklearn.feature_extraction.text import TfidfVectorizer
from sklearn.linear_model import LogisticRegression

from analytics.advice.evidence import Floats, Integers

Analyser = Callable[[str], list[str]]

MIN_TEXTS = 100  # fewer make the regression worse than nothing
# More take long and add little: the log loss of 5 179 newer cases of the invented fleet
# was 1.113 with the newest 10 000, 1.112 with all of some 12 000.
NEWEST_TEXTS = 10_000
SHARE_MIXED_IN = 0.01  # so that no word can rule a cause out
MAX_ITERATIONS = 1_000

WORD_PATTERN = r"(?u)\b\w\w+\b"


@dataclass(frozen=True, slots=True)
class TextSettings:
    """How texts become features, and the inverse penalty of the regression."""

    word_min_df: int
    piece_min_df: int
    piece_sizes: tuple[int, int]
    max_features: int | None
    inverse_penalty: float


# Chosen by experiment: beside other evidence, and for texts alone.
WITH_OTHER_EVIDENCE = TextSettings(2, 3, (3, 4), 3_000, 3.0)
TEXT_ONLY = TextSettings(2, 2, (2, 5), None, 10.0)


@dataclass(frozen=True, slots=True)
class ReadText:
    """The known words of a text, each with what it holds of every feature.

    Parts of words are credited to their word.
    """

    words: tuple[tuple[str, dict[int, float]], ...]

    def strongest(self, difference: Floats) -> list[tuple[str, float]]:
        """Return what each word adds, strongest first.

        `difference` holds the coefficients of one cause less those of another, (f,).
        The figures rank the words; they do not add up to the score of the text,
        which also holds the shares.
        """
        credit = [
            (word, sum(part * float(difference[i]) for i, part in mine.items()))
            for word, mine in self.words
        ]
        return sorted(credit, key=lambda pair: (-abs(pair[1]), pair[0]))


@dataclass(frozen=True)
class TextBlock:
    """A fitted regression on texts, for k of the causes and f features.

    `classes` are indices of causes (k,), `share` their share among the texts (k,),
    `coefficients` (k, f) and `intercepts` (k,) of the regression, `idf` (f,) the
    weights of the words, then of the pieces.
    """

    words: tuple[str, ...]
    pieces: tuple[str, ...]
    piece_sizes: tuple[int, int]
    idf: Floats
    classes: Integers
    share: Floats
    coefficients: Floats
    intercepts: Floats
    n_texts: int

    def features(self, texts: list[str]) -> sparse.csr_array[np.float64]:
        """Return tf-idf of words, then of pieces, shape (texts, f)."""
        parts = [part.transform(texts) for part in self._vectorizers]
        return sparse.csr_array(sparse.hstack(parts, format="csr"))

    def scores(self, texts: list[str], n_causes: int) -> Floats:
        """Return log p(cause | text) - log share, shape (texts, n_causes).

        A text with no known word, and a cause without texts, get 0.
        """
        scores = np.zeros((len(texts), n_causes))
        rows = np.flatnonzero([bool(text) for text in texts])
        if len(rows):
            features = self.features([texts[row] for row in rows])
            scores[rows] = self.scores_of(features, n_causes)
        return scores

    def scores_of(
        self, features: sparse.csr_array[np.float64], n_causes: int
    ) -> Floats:
        """Return what `scores` returns, of texts whose `features` are at hand."""
        scores = np.zeros((features.shape[0], n_causes))
        is_known = np.diff(features.indptr) > 0
        p = special.softmax(features @ self.coefficients.T + self.intercepts, axis=1)
        mixed = (1 - SHARE_MIXED_IN) * p + SHARE_MIXED_IN * self.share
        ratio = np.log(mixed / self.share)
        scores[np.ix_(is_known, self.classes)] = ratio[is_known]
        return scores

    def read(
        self, text: str, features: sparse.csr_array[np.float64] | None = None
    ) -> "ReadText":
        """Split the features of one text, (1, f), among its words."""
        row = self.features([text]) if features is None else features
        value = dict(zip(row.indices.tolist(), row.data.tolist(), strict=True))
        words = text.lower().split()
        found = [self._columns(word) for word in words]
        times = Counter(column for columns in found for column in columns)
        parts: dict[str, dict[int, float]] = {word: {} for word in words}
        for word, columns in zip(words, found, strict=True):
            mine = parts[word]
            for column in columns:
                share = value.get(column, 0.0) / times[column]
                mine[column] = mine.get(column, 0.0) + share
        return ReadText(tuple((word, mine) for word, mine in parts.items() if mine))

    def coefficients_of(self, cause: int) -> Floats:
        """Return the coefficients of one cause (f,), 0 where it had no texts."""
        at = np.flatnonzero(self.classes == cause)
        if len(at):
            return np.asarray(self.coefficients[at[0]])
        return np.zeros(self.coefficients.shape[1])

    def _columns(self, word: str) -> list[int]:
        return [
            self._column[kind, part]
            for kind, analyse in enumerate(self._analysers)
            for part in analyse(word)
            if (kind, part) in self._column
        ]

    @cached_property
    def _column(self) -> dict[tuple[int, str], int]:
        both = [(0, word) for word in self.words] + [(1, part) for part in self.pieces]
        return {part: column for column, part in enumerate(both)}

    @cached_property
    def _vectorizers(self) -> list[TfidfVectorizer]:
        made = []
        n = len(self.words)
        if self.words:
            made.append(_word_vectorizer(vocabulary=list(self.words)))
            made[-1].idf_ = self.idf[:n]
        if self.pieces:
            made.append(_piece_vectorizer(self.piece_sizes, vocabulary=self.pieces))
            made[-1].idf_ = self.idf[n:]
        return made

    @cached_property
    def _analysers(self) -> list[Analyser]:
        return [
            _word_vectorizer().build_analyzer(),
            _piece_vectorizer(self.piece_sizes).build_analyzer(),
        ]


def fit_text(
    texts: list[str], cause: Integers, weight: Floats, settings: TextSettings
) -> TextBlock | None:
    """Fit the regression, or None where the texts are too few or too unlike.

    Parameters
    ----------
    texts : list of str
        Oldest first; "" where a case has none.
    cause : array of int, shape (n,)
    weight : array of float, shape (n,)
        How far each label is trusted; 0 leaves the text out.
    settings : TextSettings
    """
    usable = np.flatnonzero(
        [bool(t) and w > 0 for t, w in zip(texts, weight, strict=True)]
    )
    rows = usable[-NEWEST_TEXTS:]
    if len(rows) < MIN_TEXTS or len(np.unique(cause[rows])) < 2:  # noqa: PLR2004 - two sides of a question
        return None
    used = [texts[row] for row in rows]
    word = _word_vectorizer(
        min_df=settings.word_min_df, max_features=settings.max_features
    )
    piece = _piece_vectorizer(
        settings.piece_sizes,
        min_df=settings.piece_min_df,
        max_features=settings.max_features,
    )
    words, word_idf = _vocabulary(word, used)
    pieces, piece_idf = _vocabulary(piece, used)
    if not words and not pieces:
        return None
    classes, targets = np.unique(cause[rows], return_inverse=True)
    counts = np.bincount(targets, weights=weight[rows])
    unfitted = TextBlock(
        words=words,
        pieces=pieces,
        piece_sizes=settings.piece_sizes,
        idf=np.concatenate([word_idf, piece_idf]),
        classes=classes.astype(np.int64),
        share=counts / counts.sum(),
        coefficients=np.zeros((len(classes), len(words) + len(pieces))),
        intercepts=np.zeros(len(classes)),
        n_texts=len(rows),
    )
    # On some thousand texts 2 to 3 times as fast as the default solver (measured).
    regression = LogisticRegression(
        C=settings.inverse_penalty, max_iter=MAX_ITERATIONS, solver="newton-cg"
    ).fit(unfitted.features(used), targets, sample_weight=weight[rows])
    coefficients, intercepts = regression.coef_, regression.intercept_
    if len(classes) == 2:  # noqa: PLR2004 - then only the second class has a row
        coefficients = np.vstack([np.zeros_like(coefficients), coefficients])
        intercepts = np.concatenate([[0.0], intercepts])
    return replace(unfitted, coefficients=coefficients, intercepts=intercepts)


def _vocabulary(
    vectorizer: TfidfVectorizer, texts: list[str]
) -> tuple[tuple[str, ...], Floats]:
    try:
        vectorizer.fit(texts)
    except ValueError:  # nothing occurs often enough
        return (), np.zeros(0)
    return tuple(map(str, vectorizer.get_feature_names_out())), vectorizer.idf_


def _word_vectorizer(**options: object) -> TfidfVectorizer:
    return TfidfVectorizer(token_pattern=WORD_PATTERN, **options)


def _piece_vectorizer(sizes: tuple[int, int], **options: object) -> TfidfVectorizer:
    return TfidfVectorizer(analyzer="char_wb", ngram_range=sizes, **options)

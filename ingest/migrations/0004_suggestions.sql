-- What was suggested for a case while its cause was open, to be held against the cause
-- confirmed later.
--
-- A suggestion is kept as it was first given and never changes, whatever later figures
-- say of the case. Times are UTC.

-- Grain: one case. given_on: when it was given; snapshot, suggester: the figures and
-- the trained suggester that gave it; n_cases: confirmed cases that one had learned
-- from; is_enough: whether the evidence was enough to name a mode; modes: the likeliest
-- first, probabilities in the same order.
CREATE TABLE suggestions (
    case_id VARCHAR PRIMARY KEY,
    given_on TIMESTAMP NOT NULL,
    snapshot VARCHAR NOT NULL,
    suggester VARCHAR NOT NULL,
    n_cases BIGINT NOT NULL,
    is_enough BOOLEAN NOT NULL,
    modes VARCHAR[] NOT NULL,
    probabilities DOUBLE[] NOT NULL
);

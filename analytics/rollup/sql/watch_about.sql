-- watch_about: what the watch for recurring failures rests on.
--
-- Grain    one row
-- Key      none, as there is one row
-- Units    first_month, last_month: first day of the month; first_live: first month in
--          which an alarm could be raised; per_year: false alarms a year, all groups
-- Reads    filled by watching.py
-- Feeds    the watch
--
-- why_not: few_months, few_failures, no_units; NULL = it can be watched. n_needed and
-- n_found say what that takes. A value of largest_site is the site with most failures.
--
-- Parameters: none

CREATE TABLE watch_about (
    why_not VARCHAR,
    n_needed BIGINT,
    n_found BIGINT,
    first_month DATE,
    last_month DATE,
    first_live DATE,
    n_months BIGINT,
    n_failures BIGINT,
    n_groups BIGINT,
    per_year DOUBLE,
    n_draws BIGINT,
    is_joint BOOLEAN,
    completeness DOUBLE,
    largest_site VARCHAR,
    n_of_largest_site BIGINT
);

-- sites_of_cases: the site with most cases, and how many cases name a site.
--
-- Grain    one row; none without a site on record
-- Reads    chosen_cases
SELECT
    site,
    count(*) AS n_cases,
    CAST(sum(count(*)) OVER () AS BIGINT) AS n_with_site
FROM chosen_cases
WHERE site IS NOT NULL
GROUP BY site
ORDER BY n_cases DESC, site
LIMIT 1;

-- Which questions of audits were NOK again within some days.
--
-- Columns:
--   plant, stream, station, question: what was asked, by id (that of a verification question is long)
--   asked: one wording of it
--   noks: findings in all
--   repeats: those of them with an earlier one of another audit within so many days before
--   first_on, last_on: days of the first and the last finding
-- Asked with: within
-- Mind: Within how many days a finding is a repeat is set in each checklist (30 while nothing is said); here one
--   number counts for all. Only questions with a repeat are listed.
WITH nok AS (
  SELECT plant, stream, station, question, audit, id, asked, found_on
  FROM audit_answers
  WHERE answer = 'not_ok'
),
again AS (
  SELECT DISTINCT n.plant, n.id, n.audit
  FROM nok n
  JOIN nok e ON e.plant = n.plant AND e.stream = n.stream AND e.station = n.station AND e.question = n.question
  WHERE e.audit <> n.audit AND CAST(n.found_on - e.found_on AS BIGINT) BETWEEN 0 AND :within
    AND (e.found_on < n.found_on OR e.id < n.id)
)
SELECT n.plant, n.stream, n.station, n.question, MAX(n.asked) AS asked, COUNT(*) AS noks, COUNT(a.id) AS repeats,
  MIN(n.found_on) AS first_on, MAX(n.found_on) AS last_on
FROM nok n
LEFT JOIN again a ON a.plant = n.plant AND a.id = n.id AND a.audit = n.audit
GROUP BY n.plant, n.stream, n.station, n.question
HAVING COUNT(a.id) > 0
ORDER BY repeats DESC, n.plant, n.stream, n.station, n.question

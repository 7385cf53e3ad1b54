-- Audits begun, signed and answered, by layer and month of the plan.
--
-- Columns:
--   plant, stream, layer, month_begins: whose audits, in which month of the plan
--   begun, signed: audits
--   missed_with_reason: audits of the plan of which somebody wrote why they were not done
--   ok, nok, not_applicable: answers
--   judged: ok and nok together
--   conformity: ok of judged, 0 to 1; empty without any
-- Limits: ok of judged
-- Mind: How many audits the plan asked for stands in the checklists and not in the records: completion is signed
--   audits of those planned ('walkapp audits' says it). Two audits for one place of the plan count as two.
WITH answered AS (
  SELECT plant, stream, layer, month_of_plan,
    COUNT(*) FILTER (WHERE answer = 'ok') AS ok,
    COUNT(*) FILTER (WHERE answer = 'not_ok') AS nok,
    COUNT(*) FILTER (WHERE answer = 'not_applicable') AS not_applicable
  FROM audit_answers
  GROUP BY plant, stream, layer, month_of_plan
),
begun AS (
  SELECT a.plant, a.stream, a.layer, a.month_of_plan, COUNT(*) AS begun, COUNT(g.audit) AS signed
  FROM audits a
  LEFT JOIN (SELECT DISTINCT concern, audit FROM held_audit_signed) g
    ON g.audit = a.audit AND g.concern = a.book
  GROUP BY a.plant, a.stream, a.layer, a.month_of_plan
),
missed AS (
  SELECT n.plant, n.stream, n.layer, b.month_begins, COUNT(DISTINCT concat(CAST(n.its_day AS STRING), n.shift)) AS missed
  FROM held_audit_missed n
  JOIN books b ON b.book = n.concern AND b.stream = n.stream
    AND b.month_begins = CAST(CAST(date_trunc('month', n.its_day) AS DATE) AS STRING)
  GROUP BY n.plant, n.stream, n.layer, b.month_begins
),
months AS (
  SELECT plant, stream, layer, CAST(month_of_plan AS STRING) AS month_begins FROM begun
  UNION
  SELECT plant, stream, layer, month_begins FROM missed
)
SELECT m.plant, m.stream, m.layer, CAST(m.month_begins AS DATE) AS month_begins, COALESCE(b.begun, 0) AS begun,
  COALESCE(b.signed, 0) AS signed, COALESCE(n.missed, 0) AS missed_with_reason, COALESCE(a.ok, 0) AS ok,
  COALESCE(a.nok, 0) AS nok, COALESCE(a.not_applicable, 0) AS not_applicable,
  COALESCE(a.ok + a.nok, 0) AS judged,
  CAST(a.ok AS DOUBLE) / NULLIF(CAST(a.ok + a.nok AS DOUBLE), 0) AS conformity
FROM months m
LEFT JOIN begun b ON b.plant = m.plant AND b.stream = m.stream AND b.layer = m.layer
  AND CAST(b.month_of_plan AS STRING) = m.month_begins
LEFT JOIN answered a ON a.plant = m.plant AND a.stream = m.stream AND a.layer = m.layer
  AND CAST(a.month_of_plan AS STRING) = m.month_begins
LEFT JOIN missed n ON n.plant = m.plant AND n.stream = m.stream AND n.layer = m.layer
  AND n.month_begins = m.month_begins
ORDER BY m.plant, m.stream, m.layer, m.month_begins

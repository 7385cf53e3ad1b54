-- The answers that count: of several to one question of an audit the newest, by id.
SELECT a.plant, a.stream, a.layer, a.day_of_plan, a.month_of_plan, a.audit, w.id, w.station,
  CASE WHEN w.question <> '' THEN w.question ELSE w.watch END AS question, w.asked, w.answer,
  CASE WHEN a.paper_until <> '' THEN CAST(substr(a.paper_until, 1, 10) AS DATE)
    ELSE CAST(substr(w.its_at, 1, 10) AS DATE) END AS found_on
FROM (
  SELECT h.*,
    ROW_NUMBER() OVER (PARTITION BY h.concern, h.audit, h.station, h.question, h.watch ORDER BY h.id DESC) AS place
  FROM held_audit_answer h
) w
JOIN audits a ON a.audit = w.audit AND a.book = w.concern
WHERE w.place = 1

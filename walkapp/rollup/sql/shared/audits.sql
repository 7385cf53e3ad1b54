-- One row for each audit that was begun and lies in the book of its stream and month, where it has to lie.
SELECT s.plant, s.stream, s.layer, s.its_day AS day_of_plan, s.id AS audit, s.concern AS book, s.paper_until,
  CAST(date_trunc('month', s.its_day) AS DATE) AS month_of_plan
FROM held_audit_start s
JOIN books b ON b.book = s.concern AND b.stream = s.stream
  AND b.month_begins = CAST(CAST(date_trunc('month', s.its_day) AS DATE) AS STRING)

-- What was learned from each concern, and which concerns have no lesson yet.
--
-- Columns:
--   plant, stream, concern, what: which concern
--   lessons: lessons recorded
--   worked, did_not_work, to_change: what the newest one says
-- Mind: A lesson says what to change in how people work; whether that was done is not recorded here.
SELECT c.plant, c.stream, c.concern, c.what, COALESCE(n.lessons, 0) AS lessons, COALESCE(n.worked, '') AS worked,
  COALESCE(n.did_not_work, '') AS did_not_work, COALESCE(n.to_change, '') AS to_change
FROM concerns c
LEFT JOIN (
  SELECT h.concern, h.worked, h.did_not_work, h.to_change, COUNT(*) OVER (PARTITION BY h.concern) AS lessons,
    ROW_NUMBER() OVER (PARTITION BY h.concern ORDER BY h.id DESC) AS place
  FROM held_lesson h
) n ON n.concern = c.concern AND n.place = 1
WHERE c.is_here
ORDER BY c.plant, c.stream, c.concern

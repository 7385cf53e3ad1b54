-- Which like stations elsewhere are still to be looked at or mended.
--
-- Columns:
--   plant, stream, concern: whose concern it comes from
--   other_stream, other_station: where the same could happen
--   status: to_check or affected
--   words, owner, due_on: what was written of it, who sees to it, until when
--   days_overdue: days since due_on; 0 while it is not overdue, empty when no day is set
-- Asked with: on
-- Mind: Stations about which nobody wrote anything are not in here: only the checklists know which are alike.
SELECT c.plant, c.stream, n.concern, n.other_stream, n.other_station, n.status, n.words, n.owner, n.due_on,
  CASE WHEN n.due_on < :on THEN CAST(:on - n.due_on AS BIGINT)
    WHEN n.due_on IS NOT NULL THEN 0 END AS days_overdue
FROM (
  SELECT h.*,
    ROW_NUMBER() OVER (PARTITION BY h.concern, h.other_stream, h.other_station ORDER BY h.id DESC) AS place
  FROM held_read_across h
) n
JOIN concerns c ON c.concern = n.concern
WHERE n.place = 1 AND n.status IN ('to_check', 'affected')
ORDER BY n.due_on NULLS LAST, c.plant, c.stream, n.concern, n.other_stream, n.other_station

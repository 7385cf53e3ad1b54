-- What changed at the stations: how many change points of each kind, and whether the customer was told.
--
-- Columns:
--   plant, stream, station, kind: where, and what kind of thing changed
--   changes: change points
--   told, not_told, told_unknown: of them, whether the customer was told
--   without_day: those of which the day is not known
--   first_on, last_on: days of the first and the last one with a day
-- Mind: These are the changes that somebody found on a walk for a concern, and not all that there were.
SELECT c.plant, c.stream, h.station, h.its_change AS kind, COUNT(*) AS changes,
  COUNT(*) FILTER (WHERE h.customer_told = 'yes') AS told,
  COUNT(*) FILTER (WHERE h.customer_told = 'no') AS not_told,
  COUNT(*) FILTER (WHERE h.customer_told = 'unknown') AS told_unknown,
  COUNT(*) FILTER (WHERE h.changed_on IS NULL) AS without_day,
  MIN(h.changed_on) AS first_on, MAX(h.changed_on) AS last_on
FROM held_change_point h
JOIN concerns c ON c.concern = h.concern
GROUP BY c.plant, c.stream, h.station, h.its_change
ORDER BY c.plant, c.stream, h.station, h.its_change

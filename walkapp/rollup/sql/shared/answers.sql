-- The computed answer of each concern, station by station: of the bundle that holds most records of the concern.
SELECT a.*, c.records
FROM rows_first_bad_station a
JOIN (
  SELECT w.bundle, w.concern, t.records,
    ROW_NUMBER() OVER (PARTITION BY w.concern ORDER BY t.records DESC, b.digest, w.bundle) AS place
  FROM (SELECT DISTINCT bundle, concern FROM rows_first_bad_station) w
  JOIN parts t ON t.bundle = w.bundle AND t.concern = w.concern
  JOIN bundles b ON b.bundle = w.bundle
) c ON c.bundle = a.bundle AND c.concern = a.concern AND c.place = 1

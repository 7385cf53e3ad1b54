-- Where the defect of each concern starts, as a tablet worked it out.
--
-- Columns:
--   plant, stream, concern, defect, what: which concern
--   first_bad_station: name of the station; empty when none is named
--   probability_origin: probability that the defect starts there, 0 to 1
--   checked, nok: parts checked there, and NOK
--   records_seen: records of the concern in the bundle of which this is the answer
--   records_here: records of the concern in all bundles
-- Mind: This is the answer of the tablet that wrote the bundle with most records of the concern. Where
--   records_here is more than records_seen, other bundles know more: merge them and ask 'walkapp summary'. Under
--   0.95 the station is the most likely one and no more.
WITH told AS (
  SELECT concern, bundle, MAX(first_bad_station) AS first_bad_station, MAX(defect) AS defect,
    MAX(stream) AS stream, MAX(records) AS records,
    MAX(CASE WHEN station = first_bad_station THEN probability_origin END) AS probability_origin,
    SUM(CASE WHEN station = first_bad_station THEN checked END) AS checked,
    SUM(CASE WHEN station = first_bad_station THEN nok END) AS nok
  FROM answers
  GROUP BY concern, bundle
),
in_several AS (
  SELECT h.concern, COUNT(DISTINCT h.id) AS here, COUNT(DISTINCT CASE WHEN h.bundle = t.bundle THEN h.id END) AS seen
  FROM header h
  JOIN told t ON t.concern = h.concern
  JOIN concerns c ON c.concern = h.concern AND c.bundles > 1
  GROUP BY h.concern
)
SELECT c.plant, CASE WHEN c.is_here THEN c.stream ELSE t.stream END AS stream, t.concern, t.defect, c.what,
  t.first_bad_station, t.probability_origin,
  CAST(t.checked AS BIGINT) AS checked, CAST(t.nok AS BIGINT) AS nok,
  CAST(COALESCE(s.seen, t.records) AS BIGINT) AS records_seen,
  CAST(COALESCE(s.here, t.records) AS BIGINT) AS records_here
FROM told t
JOIN concerns c ON c.concern = t.concern
LEFT JOIN in_several s ON s.concern = t.concern
ORDER BY c.plant, stream, t.concern

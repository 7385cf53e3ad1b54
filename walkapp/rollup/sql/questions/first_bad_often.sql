-- How often each station is where a defect starts.
--
-- Columns:
--   plant, stream, station, defect: which station, by name, and for which defect
--   concerns: concerns whose answer names it
--   surely: those of them with a probability of 0.95 or more
--   of_concerns: concerns of that plant, stream and defect with an answer, those that name no station among them
--   share: concerns of of_concerns, 0 to 1
-- Limits: concerns of of_concerns
-- Mind: As 'first_bad_station'. Concerns are no random sample of anything: a station that is walked more often is
--   found more often.
WITH told AS (
  SELECT c.plant, CASE WHEN c.is_here THEN c.stream ELSE MAX(a.stream) END AS stream, a.concern, a.defect,
    MAX(a.first_bad_station) AS station,
    MAX(CASE WHEN a.station = a.first_bad_station THEN a.probability_origin END) AS probability
  FROM answers a
  JOIN concerns c ON c.concern = a.concern
  GROUP BY c.plant, c.is_here, c.stream, a.concern, a.defect
),
in_all AS (
  SELECT plant, stream, defect, COUNT(*) AS of_concerns FROM told GROUP BY plant, stream, defect
)
SELECT t.plant, t.stream, t.station, t.defect, COUNT(*) AS concerns,
  COUNT(*) FILTER (WHERE t.probability >= 0.95) AS surely,
  MAX(i.of_concerns) AS of_concerns,
  CAST(COUNT(*) AS DOUBLE) / CAST(MAX(i.of_concerns) AS DOUBLE) AS share
FROM told t
JOIN in_all i ON i.plant = t.plant AND i.stream = t.stream AND i.defect = t.defect
WHERE t.station <> ''
GROUP BY t.plant, t.stream, t.station, t.defect
ORDER BY t.plant, t.stream, concerns DESC, t.station, t.defect

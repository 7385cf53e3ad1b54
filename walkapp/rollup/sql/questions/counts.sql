-- How many parts were checked at each station, and how many were NOK.
--
-- Columns:
--   plant, stream, defect, station, check_id: where, for which defect, with which check
--   concerns: concerns with such a check
--   checked, nok: parts
--   share: nok of checked, 0 to 1; empty when no part was checked
-- Limits: nok of checked
-- Mind: Answers and counts are added up as they were recorded; measured values are not in here, for only the
--   checklist knows their limits. Only the checklist knows which check finds the defect, and which is a question
--   and judges no part: read each check by itself. Parts from after a fix count as well.
WITH judged AS (
  SELECT concern, station, its_check, COUNT(*) AS checked, COUNT(*) FILTER (WHERE answer = 'not_ok') AS nok
  FROM held_answer
  WHERE answer <> 'not_applicable'
  GROUP BY concern, station, its_check
  UNION ALL
  SELECT concern, station, its_check, SUM(checked) AS checked, SUM(nok) AS nok
  FROM held_count
  GROUP BY concern, station, its_check
)
SELECT c.plant, c.stream, c.defect, j.station, j.its_check AS check_id,
  COUNT(DISTINCT j.concern) AS concerns,
  CAST(SUM(j.checked) AS BIGINT) AS checked,
  CAST(SUM(j.nok) AS BIGINT) AS nok,
  CAST(SUM(j.nok) AS DOUBLE) / NULLIF(CAST(SUM(j.checked) AS DOUBLE), 0) AS share
FROM judged j
JOIN concerns c ON c.concern = j.concern
GROUP BY c.plant, c.stream, c.defect, j.station, j.its_check
ORDER BY c.plant, c.stream, c.defect, j.station, j.its_check

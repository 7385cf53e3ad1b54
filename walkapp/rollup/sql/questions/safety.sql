-- Which safety-class concerns have no record of who was told.
--
-- Columns:
--   plant, stream, concern, what: which concern
-- Mind: Follow the rules of the site and of the customer, and ask the people who are qualified for it.
SELECT c.plant, c.stream, c.concern, c.what
FROM concerns c
LEFT JOIN (SELECT DISTINCT concern FROM held_escalation) e ON e.concern = c.concern
WHERE c.severity = 'safety' AND e.concern IS NULL
ORDER BY c.plant, c.stream, c.concern

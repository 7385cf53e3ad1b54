-- How many records of each concern (or book) each bundle brings.
SELECT bundle, concern, COUNT(*) AS records
FROM header
GROUP BY bundle, concern

-- Parts delivered and NOK parts, month by month: what the ppm is made of.
--
-- Columns:
--   plant, stream, month_begins: which month, by its first day
--   delivered: parts delivered; empty when no deliveries are recorded
--   customer_nok: NOK parts as the customer counts them; empty when that is not recorded
--   concerns: concerns that count beside it, since it does not cover their part number
--   concern_nok: parts that these report; one for each that was reported without a quantity
--   without_quantity: those of them without a quantity: there the count is a least one
--   nok: customer_nok and concern_nok together
-- Limits: nok of delivered in ppm
-- Mind: A concern counts in the month in which the customer reported it, or while that is not recorded in the one
--   in which it was opened. A record of all part numbers stands for those of single ones. Part numbers are the
--   same here when they differ in capitals and in blanks at the ends only.
WITH gone_out AS (
  SELECT plant, stream, month_begins,
    SUM(CASE WHEN is_counted THEN delivered END) AS delivered,
    SUM(CASE WHEN is_nok_counted THEN customer_nok END) AS customer_nok
  FROM deliveries_now
  GROUP BY plant, stream, month_begins
),
come_back AS (
  SELECT c.plant, c.stream, CAST(date_trunc('month', c.counts_on) AS DATE) AS month_begins, COUNT(*) AS concerns,
    SUM(COALESCE(c.quantity,
      CASE WHEN c.reported_on IS NOT NULL OR c.customer_reference <> '' THEN 1 ELSE 0 END)) AS concern_nok,
    COUNT(*) FILTER (WHERE c.quantity IS NULL) AS without_quantity
  FROM concerns c
  LEFT JOIN (SELECT * FROM deliveries_now WHERE is_nok_counted) k
    ON k.plant = c.plant AND k.stream = c.stream AND k.part IN ('', lower(trim(c.part_number)))
    AND k.month_begins = CAST(date_trunc('month', c.counts_on) AS DATE)
  WHERE c.is_here AND k.part IS NULL
  GROUP BY c.plant, c.stream, CAST(date_trunc('month', c.counts_on) AS DATE)
),
months AS (
  SELECT plant, stream, month_begins FROM gone_out
  UNION
  SELECT plant, stream, month_begins FROM come_back
)
SELECT m.plant, m.stream, m.month_begins, CAST(g.delivered AS BIGINT) AS delivered,
  CAST(g.customer_nok AS BIGINT) AS customer_nok, COALESCE(b.concerns, 0) AS concerns,
  CAST(COALESCE(b.concern_nok, 0) AS BIGINT) AS concern_nok, COALESCE(b.without_quantity, 0) AS without_quantity,
  CAST(COALESCE(g.customer_nok, 0) + COALESCE(b.concern_nok, 0) AS BIGINT) AS nok
FROM months m
LEFT JOIN gone_out g ON g.plant = m.plant AND g.stream = m.stream AND g.month_begins = m.month_begins
LEFT JOIN come_back b ON b.plant = m.plant AND b.stream = m.stream AND b.month_begins = m.month_begins
ORDER BY m.plant, m.stream, m.month_begins

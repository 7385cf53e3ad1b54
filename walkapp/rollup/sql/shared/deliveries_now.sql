-- The deliveries that count: of several records of one month and part number the newest, by id. A record of all
-- part numbers (part is empty) stands for those of single ones: is_counted says which are added up, and
-- is_nok_counted of which the customer's own count is.
SELECT n.plant, n.stream, n.month_begins, n.part, n.delivered, n.customer_nok,
  n.part = '' OR n.has_all = 0 AS is_counted,
  n.customer_nok IS NOT NULL AND (n.part = '' OR n.has_all_nok = 0) AS is_nok_counted
FROM (
  SELECT p.*,
    MAX(CASE WHEN p.part = '' THEN 1 ELSE 0 END) OVER (PARTITION BY p.plant, p.stream, p.month_begins) AS has_all,
    MAX(CASE WHEN p.part = '' AND p.customer_nok IS NOT NULL THEN 1 ELSE 0 END)
      OVER (PARTITION BY p.plant, p.stream, p.month_begins) AS has_all_nok
  FROM (
    SELECT d.plant, d.stream, d.its_month AS month_begins, lower(trim(d.part_number)) AS part, d.delivered,
      d.customer_nok,
      ROW_NUMBER() OVER (
        PARTITION BY d.plant, d.stream, d.its_month, lower(trim(d.part_number)) ORDER BY d.id DESC
      ) AS place
    FROM held_deliveries d
    JOIN books b ON b.book = d.concern AND b.stream = d.stream AND b.month_begins = ''
  ) p
  WHERE p.place = 1
) n

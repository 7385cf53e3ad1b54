-- One row for each concern of which anything is here: where it lies, and what its own record says. Empty texts
-- where that record is not here, or was taken back. A concern in the folders of several plants lies in the first
-- of them by name.
SELECT p.concern, p.plant, p.bundles,
  COALESCE(c.stream, '') AS stream, COALESCE(c.defect, '') AS defect, COALESCE(c.what, '') AS what,
  COALESCE(c.severity, '') AS severity, COALESCE(c.part_number, '') AS part_number,
  COALESCE(c.customer_reference, '') AS customer_reference, c.quantity, c.reported_on,
  c.concern IS NOT NULL AS is_here,
  COALESCE(c.reported_on, o.opened_on, CAST(substr(c.its_at, 1, 10) AS DATE)) AS counts_on
FROM (
  SELECT t.concern, MIN(b.plant) AS plant, COUNT(*) AS bundles
  FROM parts t JOIN bundles b ON b.bundle = t.bundle
  GROUP BY t.concern
) p
LEFT JOIN (
  SELECT h.*, ROW_NUMBER() OVER (PARTITION BY h.concern ORDER BY h.id) AS place
  FROM held_concern h
) c ON c.concern = p.concern AND c.place = 1
LEFT JOIN (
  SELECT r.cell_id AS id, MIN(CAST(substr(r.cell_at, 1, 10) AS DATE)) AS opened_on
  FROM raw_concern r
  WHERE r.cell_id = r.cell_concern
  GROUP BY r.cell_id
) o ON o.id = p.concern

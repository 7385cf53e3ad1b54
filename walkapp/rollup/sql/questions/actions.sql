-- How actions stand on a day, plant by plant.
--
-- Columns:
--   plant, aim: whose actions, and what for
--   actions, done, still_open: how many in all, done, and not
--   overdue: those that are not done and should have been
--   longest_overdue: days that the one which is overdue longest is so; empty when none is
--   mean_overdue: mean of these days
-- Asked with: on
-- Mind: As 'open_actions'.
SELECT plant, aim, COUNT(*) AS actions, COUNT(done_on) AS done, COUNT(*) - COUNT(done_on) AS still_open,
  COUNT(*) FILTER (WHERE done_on IS NULL AND due_on < :on) AS overdue,
  MAX(CASE WHEN done_on IS NULL AND due_on < :on THEN CAST(:on - due_on AS BIGINT) END) AS longest_overdue,
  CAST(SUM(CASE WHEN done_on IS NULL AND due_on < :on THEN CAST(:on - due_on AS BIGINT) END) AS DOUBLE)
    / NULLIF(CAST(COUNT(*) FILTER (WHERE done_on IS NULL AND due_on < :on) AS DOUBLE), 0) AS mean_overdue
FROM actions_now
GROUP BY plant, aim
ORDER BY plant, aim

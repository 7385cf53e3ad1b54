-- Which actions are open on a day, and how long they are overdue.
--
-- Columns:
--   plant, stream, concern, action_id, aim, what, owner, station: which action
--   due_on: until when
--   days_overdue: days since then; 0 while it is not overdue
-- Asked with: on
-- Mind: Open means that nobody recorded it as done in any bundle here; an action that a bundle still to come says
--   is done is in the list.
SELECT plant, stream, concern, action_id, aim, what, owner, station, due_on,
  CASE WHEN due_on < :on THEN CAST(:on - due_on AS BIGINT) ELSE 0 END AS days_overdue
FROM actions_now
WHERE done_on IS NULL
ORDER BY due_on, plant, stream, concern, action_id

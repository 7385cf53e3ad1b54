-- One row for each action: what it says now, and when it was done. Of two records that open the same action apart
-- from each other the one with the greater id holds; of several days on which it was done the last one.
SELECT c.plant, c.stream, a.concern, a.its_action AS action_id, a.aim, a.what, a.owner, a.station, a.due_on, a.check_on,
  a.at_most, d.done_on
FROM (
  SELECT h.*, ROW_NUMBER() OVER (PARTITION BY h.concern, h.its_action ORDER BY h.id DESC) AS place
  FROM held_action h
) a
JOIN concerns c ON c.concern = a.concern
LEFT JOIN (
  SELECT concern, its_action, MAX(done_on) AS done_on
  FROM held_action_done
  GROUP BY concern, its_action
) d ON d.concern = a.concern AND d.its_action = a.its_action
WHERE a.place = 1

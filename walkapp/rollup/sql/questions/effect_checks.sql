-- Whether actions worked: parts before and after each one, by its newest effectiveness check.
--
-- Columns:
--   plant, stream, concern, action_id, aim, what: which action
--   done_on, checked_on: when it was done, and when its effect was checked
--   before_checked, before_nok, after_checked, after_nok: parts
--   at_most: greatest share of NOK parts that counts as effective; empty when none is stated
--   checks: effectiveness checks that count
-- Mind: A check from before the day on which the action was done does not count.
SELECT plant, stream, concern, action_id, aim, what, done_on, checked_on, before_checked, before_nok, after_checked,
  after_nok, at_most, checks
FROM (
  SELECT a.plant, a.stream, a.concern, a.action_id, a.aim, a.what, a.done_on, e.checked_on, e.before_checked,
    e.before_nok, e.after_checked, e.after_nok, a.at_most,
    COUNT(*) OVER (PARTITION BY a.concern, a.action_id) AS checks,
    ROW_NUMBER() OVER (PARTITION BY a.concern, a.action_id ORDER BY e.checked_on DESC, e.id DESC) AS place
  FROM held_effect_check e
  JOIN actions_now a ON a.concern = e.concern AND a.action_id = e.its_action
  WHERE e.checked_on >= a.done_on
) n
WHERE place = 1
ORDER BY plant, stream, concern, action_id

-- The shop a link is for, as the plan's head named it: its rate sheet, or its name. Links from before have its name alone.
ALTER TABLE link ADD COLUMN sheet TEXT;

DROP TRIGGER link_keeps_what_it_is;
CREATE TRIGGER link_keeps_what_it_is
BEFORE UPDATE OF id, hash, plan, role, shop, sheet, revision, said, made, expires ON link
BEGIN SELECT RAISE(ABORT, 'a link is never changed, only revoked'); END;

-- When a calendar's address ends. Those from before end a year after they were made.
ALTER TABLE calendar_address ADD COLUMN expires TEXT NOT NULL DEFAULT '';
UPDATE calendar_address SET expires = coalesce(strftime('%Y-%m-%dT%H:%M:%SZ', made, '+365 days'), made);

CREATE TRIGGER calendar_address_has_an_end BEFORE INSERT ON calendar_address WHEN NEW.expires <= NEW.made
BEGIN SELECT RAISE(ABORT, 'an address ends after it was made'); END;

CREATE TRIGGER calendar_address_is_renewed_while_it_stands BEFORE UPDATE OF expires ON calendar_address
WHEN OLD.revoked IS NOT NULL OR NEW.expires <= OLD.made
BEGIN SELECT RAISE(ABORT, 'a revoked address is not renewed'); END;

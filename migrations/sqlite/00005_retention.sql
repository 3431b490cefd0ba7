-- +goose Up
-- A run keeps the state it ended in, so that a release that knows no expiry reads it as before.
ALTER TABLE runs ADD COLUMN expired_at INTEGER; -- its files are gone, and what it was ordered with
ALTER TABLE runs ADD COLUMN erase_asked BOOLEAN NOT NULL DEFAULT FALSE; -- goes as soon as it is over
ALTER TABLE runs ADD COLUMN revision INTEGER NOT NULL DEFAULT 0; -- raised by whatever a follower can see
CREATE INDEX runs_kept ON runs (finished_at) WHERE finished_at IS NOT NULL AND expired_at IS NULL;
CREATE INDEX runs_to_erase ON runs (finished_at) WHERE erase_asked;

-- Contents that a run has let go of, to be freed when no other run has them by then.
CREATE TABLE discards (
    sha256  TEXT PRIMARY KEY,
    due_at  INTEGER NOT NULL
);
CREATE INDEX discards_due ON discards (due_at);

-- Shops take turns: the first rows of each are looked up.
CREATE INDEX outbox_turns ON outbox (shop_id, available_at, id);

-- +goose Down
DROP INDEX outbox_turns;
DROP TABLE discards;
DROP INDEX runs_to_erase;
DROP INDEX runs_kept;
ALTER TABLE runs DROP COLUMN revision;
ALTER TABLE runs DROP COLUMN erase_asked;
ALTER TABLE runs DROP COLUMN expired_at;

-- +goose Up
-- The keys that download links are signed with: the newest signs, all that are here are believed.
CREATE TABLE link_keys (
    id          TEXT PRIMARY KEY,
    secret      BYTEA NOT NULL,
    created_at  TIMESTAMPTZ NOT NULL
);

-- +goose Down
DROP TABLE link_keys;

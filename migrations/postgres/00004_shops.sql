-- +goose Up
-- A key from before there were scopes may do everything, as it always could.
ALTER TABLE api_keys ADD COLUMN scope TEXT NOT NULL DEFAULT 'admin';
ALTER TABLE api_keys ADD COLUMN sandbox BOOLEAN NOT NULL DEFAULT FALSE;
ALTER TABLE api_keys ADD COLUMN description TEXT NOT NULL DEFAULT '';
ALTER TABLE api_keys ADD COLUMN old_hash BYTEA; -- holds as well until old_until
ALTER TABLE api_keys ADD COLUMN old_until TIMESTAMPTZ;
ALTER TABLE api_keys ADD COLUMN used_at TIMESTAMPTZ; -- coarse
CREATE INDEX api_keys_shop ON api_keys (shop_id, created_at, id);

ALTER TABLE runs ADD COLUMN sandbox BOOLEAN NOT NULL DEFAULT FALSE;
ALTER TABLE runs ADD COLUMN ordered_by TEXT NOT NULL DEFAULT ''; -- a key's id

-- What an operator allows a shop beside the settings; NULL: what the settings say, 0: any number.
CREATE TABLE shop_quotas (
    shop_id      TEXT PRIMARY KEY REFERENCES shops (id),
    runs_at_once BIGINT,
    runs_a_day   BIGINT,
    pages_a_day  BIGINT,
    bytes_kept   BIGINT
);

-- What a shop has had on a day (UTC), live and sandbox apart.
CREATE TABLE shop_days (
    shop_id  TEXT NOT NULL REFERENCES shops (id),
    day      TEXT NOT NULL,
    sandbox  BOOLEAN NOT NULL,
    runs     BIGINT NOT NULL,
    pages    BIGINT NOT NULL,
    PRIMARY KEY (shop_id, day, sandbox)
);
CREATE INDEX shop_days_age ON shop_days (day);
CREATE INDEX files_kept ON files (shop_id, bytes);

-- What a storefront may order: a style as it was when it was published.
CREATE TABLE offers (
    shop_id        TEXT NOT NULL REFERENCES shops (id),
    style          TEXT NOT NULL,
    style_version  TEXT NOT NULL,
    block          TEXT NOT NULL,
    block_version  TEXT NOT NULL,
    raw            BYTEA NOT NULL, -- what may be chosen, as it was sent
    published_at   TIMESTAMPTZ NOT NULL,
    PRIMARY KEY (shop_id, style)
);

-- Who did what.
CREATE TABLE audit (
    id       TEXT PRIMARY KEY,
    shop_id  TEXT NOT NULL REFERENCES shops (id),
    at       TIMESTAMPTZ NOT NULL,
    key_id   TEXT NOT NULL, -- '': the operator
    address  TEXT NOT NULL, -- '': this machine
    action   TEXT NOT NULL,
    subject  TEXT NOT NULL
);
CREATE INDEX audit_newest ON audit (shop_id, at, id);
CREATE INDEX audit_age ON audit (at);

-- +goose Down
DROP TABLE offers;
DROP TABLE audit;
DROP INDEX files_kept;
DROP TABLE shop_days;
DROP TABLE shop_quotas;
ALTER TABLE runs DROP COLUMN ordered_by;
ALTER TABLE runs DROP COLUMN sandbox;
DROP INDEX api_keys_shop;
ALTER TABLE api_keys DROP COLUMN used_at;
ALTER TABLE api_keys DROP COLUMN old_until;
ALTER TABLE api_keys DROP COLUMN old_hash;
ALTER TABLE api_keys DROP COLUMN description;
ALTER TABLE api_keys DROP COLUMN sandbox;
ALTER TABLE api_keys DROP COLUMN scope;

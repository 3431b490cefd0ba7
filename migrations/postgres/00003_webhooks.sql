-- +goose Up
-- Where a shop wants to be told.
CREATE TABLE endpoints (
    id           TEXT PRIMARY KEY,
    shop_id      TEXT NOT NULL REFERENCES shops (id),
    url          TEXT NOT NULL,
    description  TEXT NOT NULL,
    secret       BYTEA NOT NULL, -- signing needs the secret itself
    old_secret   BYTEA,          -- signs as well until old_until
    old_until    TIMESTAMPTZ,
    off_at       TIMESTAMPTZ,          -- switched off: by the shop, or by the endpoint's own 410
    off_why      TEXT NOT NULL DEFAULT '',
    created_at   TIMESTAMPTZ NOT NULL
);
CREATE INDEX endpoints_shop ON endpoints (shop_id, created_at, id);

-- What there is to tell: one per run that is over, and tests.
CREATE TABLE events (
    id          TEXT PRIMARY KEY,
    shop_id     TEXT NOT NULL REFERENCES shops (id),
    run_id      TEXT, -- no reference: a run may be erased before what was told of it
    type        TEXT NOT NULL,
    created_at  TIMESTAMPTZ NOT NULL
);
CREATE INDEX events_newest ON events (shop_id, created_at, id);
CREATE INDEX events_age ON events (created_at);

CREATE TABLE deliveries (
    event_id     TEXT NOT NULL REFERENCES events (id),
    endpoint_id  TEXT NOT NULL REFERENCES endpoints (id),
    shop_id      TEXT NOT NULL REFERENCES shops (id),
    state        TEXT NOT NULL CHECK (state IN ('waiting', 'delivered', 'failed')),
    tries        INTEGER NOT NULL, -- since it was last asked for; also the fence
    next_at      TIMESTAMPTZ NOT NULL, -- while it waits: when it is due; a claim moves it on
    created_at   TIMESTAMPTZ NOT NULL,
    PRIMARY KEY (endpoint_id, event_id)
);
CREATE INDEX deliveries_due ON deliveries (next_at) WHERE state = 'waiting';
CREATE INDEX deliveries_event ON deliveries (event_id);

-- Every try, for whoever looks for what went wrong.
CREATE TABLE delivery_tries (
    endpoint_id  TEXT NOT NULL,
    event_id     TEXT NOT NULL,
    at           TIMESTAMPTZ NOT NULL,
    status       INTEGER NOT NULL, -- 0: there was no answer
    note         TEXT NOT NULL,
    took_us      BIGINT NOT NULL,
    FOREIGN KEY (endpoint_id, event_id) REFERENCES deliveries (endpoint_id, event_id) ON DELETE CASCADE
);
CREATE INDEX delivery_tries_of ON delivery_tries (endpoint_id, event_id, at);

-- +goose Down
DROP TABLE delivery_tries;
DROP TABLE deliveries;
DROP TABLE events;
DROP TABLE endpoints;

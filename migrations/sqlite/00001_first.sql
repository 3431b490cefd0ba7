-- +goose Up
CREATE TABLE shops (
    id          TEXT PRIMARY KEY,
    name        TEXT NOT NULL UNIQUE,
    created_at  INTEGER NOT NULL
);

CREATE TABLE api_keys (
    id          TEXT PRIMARY KEY,
    shop_id     TEXT NOT NULL REFERENCES shops (id),
    hash        BLOB NOT NULL, -- SHA-256 of the secret; the secret itself is nowhere
    created_at  INTEGER NOT NULL,
    revoked_at  INTEGER
);

-- Every version of a block or style that was ever current.
CREATE TABLE versions (
    shop_id     TEXT NOT NULL REFERENCES shops (id),
    kind        TEXT NOT NULL CHECK (kind IN ('block', 'style')),
    name        TEXT NOT NULL,
    version     TEXT NOT NULL, -- names the content
    title       TEXT NOT NULL,
    block       TEXT NOT NULL, -- a style's block, '' for a block
    raw         BLOB NOT NULL,
    saved_at    INTEGER NOT NULL,
    PRIMARY KEY (shop_id, kind, name, version)
);

-- Which version a name means now.
CREATE TABLE documents (
    shop_id     TEXT NOT NULL,
    kind        TEXT NOT NULL,
    name        TEXT NOT NULL,
    version     TEXT NOT NULL,
    PRIMARY KEY (shop_id, kind, name),
    FOREIGN KEY (shop_id, kind, name, version) REFERENCES versions (shop_id, kind, name, version)
);

CREATE TABLE runs (
    id            TEXT PRIMARY KEY,
    shop_id       TEXT NOT NULL REFERENCES shops (id),
    external_id   TEXT, -- the shop's own number
    style         TEXT NOT NULL,
    style_version TEXT NOT NULL,
    block         TEXT NOT NULL,
    block_version TEXT NOT NULL,
    engine        TEXT NOT NULL,
    input_hash    TEXT NOT NULL, -- everything that the files depend on
    request       BLOB NOT NULL,
    stamp         TEXT NOT NULL,
    sizes         TEXT NOT NULL, -- JSON, as are outputs, problem and report
    outputs       TEXT NOT NULL,
    deliver       BOOLEAN NOT NULL, -- anyway
    state         TEXT NOT NULL CHECK (state IN ('queued', 'making', 'done', 'failed', 'cancelled')),
    cancel_asked  BOOLEAN NOT NULL DEFAULT FALSE,
    attempt       INTEGER NOT NULL DEFAULT 0, -- the fence: raised by each claim
    tries         INTEGER NOT NULL DEFAULT 0, -- claims that count against the limit
    lease_until   INTEGER, -- while a worker is at it
    handed_at     INTEGER, -- last given to the queue
    stage         TEXT NOT NULL,
    done          INTEGER NOT NULL,
    total         INTEGER NOT NULL,
    problem       TEXT,
    report        TEXT,
    created_at    INTEGER NOT NULL,
    started_at    INTEGER,
    finished_at   INTEGER,
    CHECK ((finished_at IS NOT NULL) = (state IN ('done', 'failed', 'cancelled')))
);
CREATE UNIQUE INDEX runs_external ON runs (shop_id, external_id) WHERE external_id IS NOT NULL;
CREATE INDEX runs_newest ON runs (shop_id, created_at, id);
CREATE INDEX runs_unfinished ON runs (shop_id) WHERE state IN ('queued', 'making');
CREATE INDEX runs_same_input ON runs (shop_id, input_hash, finished_at) WHERE report IS NOT NULL;

CREATE TABLE files (
    id          TEXT PRIMARY KEY,
    run_id      TEXT NOT NULL REFERENCES runs (id),
    shop_id     TEXT NOT NULL REFERENCES shops (id),
    place       INTEGER NOT NULL, -- in the order made
    name        TEXT NOT NULL,
    media_type  TEXT NOT NULL,
    paper       TEXT NOT NULL,
    pages       INTEGER NOT NULL,
    bytes       BIGINT NOT NULL,
    sha256      TEXT NOT NULL,
    UNIQUE (run_id, name) -- attached once
);
CREATE INDEX files_content ON files (sha256);

CREATE TABLE outbox (
    id           TEXT PRIMARY KEY,
    run_id       TEXT NOT NULL REFERENCES runs (id),
    shop_id      TEXT NOT NULL REFERENCES shops (id),
    available_at INTEGER NOT NULL,
    UNIQUE (run_id) -- two would only make a worker turn round at the door
);
CREATE INDEX outbox_due ON outbox (available_at);

CREATE TABLE idempotency (
    shop_id     TEXT NOT NULL REFERENCES shops (id),
    scope       TEXT NOT NULL,
    key         TEXT NOT NULL,
    print       BLOB NOT NULL, -- SHA-256 of the body
    run_id      TEXT NOT NULL REFERENCES runs (id),
    created_at  INTEGER NOT NULL,
    PRIMARY KEY (shop_id, scope, key)
);
CREATE INDEX idempotency_age ON idempotency (created_at);

-- +goose Down
DROP TABLE idempotency;
DROP TABLE outbox;
DROP TABLE files;
DROP TABLE runs;
DROP TABLE documents;
DROP TABLE versions;
DROP TABLE api_keys;
DROP TABLE shops;

#!/usr/bin/env bash
# Brings back what backup.sh has left: `deploy/restore.sh FOLDER`, with the settings of the service.
#
# Goes into an empty database, or an empty SIZERUN_DATA, and a STORAGE_DIR without files; it never writes
# over anything. The backup is looked at before anything is touched: the database by its checksum, every
# file by its name, which is its SHA-256. The service must not run yet. Afterwards: `sizerun migrate`, when
# the program is newer than the backup; then start it. Runs that were not done are found and made.
#
# Needs pg_restore and psql (Debian: postgresql-client) or sqlite3.
set -euo pipefail
umask 077
. "$(dirname "$0")/settings.sh"
[ $# = 1 ] && [ -d "$1" ] || { echo "usage: restore.sh FOLDER" >&2; exit 2; }
from=$1
stop() { echo "restore: $*" >&2; exit 1; }

(cd "$from" && sha256sum --quiet --strict -c SHA256SUMS) || stop "the database in $from is damaged"
if [ -z "$STORAGE_URL" ]; then
	[ -d "$from/files" ] || stop "$from has no files; they were in a bucket when it was made: set STORAGE_URL"
	names=$(cd "$from/files" && find . -type f -printf '%f  %p\n')
	if [ -n "$names" ]; then
		(cd "$from/files" && sha256sum --quiet --strict -c - <<<"$names") || stop "a file in $from is damaged"
	fi
	[ -z "$(find "$STORAGE_DIR" -type f -print -quit 2>/dev/null)" ] || stop "there are files in $STORAGE_DIR already; nothing was changed"
fi

if [ -n "$DATABASE_URL" ]; then
	[ -f "$from/database.dump" ] || stop "$from is a backup of an embedded store; unset DATABASE_URL"
	postgres_url
	n=$(psql -X -At -d "$PG_URL" -c "SELECT count(*) FROM pg_class c JOIN pg_namespace n ON n.oid = c.relnamespace WHERE n.nspname NOT IN ('pg_catalog', 'information_schema') AND n.nspname NOT LIKE 'pg_toast%'")
	[ "$n" = 0 ] || stop "the database is not empty; nothing was changed"
	pg_restore --no-owner --no-privileges --exit-on-error --single-transaction --dbname="$PG_URL" "$from/database.dump"
else
	[ -f "$from/sizerun.db" ] || stop "$from is a backup of a PostgreSQL; set DATABASE_URL"
	[ "$(sqlite3 -readonly "$from/sizerun.db" 'PRAGMA integrity_check')" = ok ] || stop "the database in $from is damaged"
	mkdir -p "$SIZERUN_DATA"
	for f in sizerun.db sizerun.db-wal sizerun.db-shm; do
		[ ! -e "$SIZERUN_DATA/$f" ] || stop "there is a store in $SIZERUN_DATA already; nothing was changed"
	done
fi
if [ -z "$STORAGE_URL" ]; then
	mkdir -p "$STORAGE_DIR"
	cp -a --reflink=auto "$from/files/." "$STORAGE_DIR/"
	sync -f "$STORAGE_DIR"
fi
if [ -z "$DATABASE_URL" ]; then
	# The database last, and at once: a service that is started too early finds none.
	cp "$from/sizerun.db" "$SIZERUN_DATA/.sizerun.db.part"
	sync -f "$SIZERUN_DATA"
	mv -T "$SIZERUN_DATA/.sizerun.db.part" "$SIZERUN_DATA/sizerun.db"
fi
echo "restore: $from is back"

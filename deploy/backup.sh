#!/usr/bin/env bash
# Backs a shop's service up while it runs: `deploy/backup.sh FOLDER`, with the settings of the service.
#
# Reads DATABASE_URL, SIZERUN_DATA, STORAGE_DIR and STORAGE_URL (or NAME_FILE) as the service does, and
# leaves in FOLDER, which must not be there yet:
#   database.dump   PostgreSQL's own archive (pg_dump), or
#   sizerun.db      the embedded store, as it stood at one moment
#   files/          what customers download, each named by its SHA-256
#   SHA256SUMS      of the database
# FOLDER appears when it is whole and not before. It holds keys and secrets: keep it as you keep those.
#
# The database comes first: a file is written before the database tells of it, and is kept for a day at
# least after the last run has let go of it. So a day is what copying may take. The queue is not backed
# up; the database knows every run that is not done. A bucket (STORAGE_URL) is left to its own means, such
# as versioning and replication: they keep it better than a copy would.
#
# Needs pg_dump (Debian: postgresql-client) or sqlite3.
set -euo pipefail
umask 077
. "$(dirname "$0")/settings.sh"
[ $# = 1 ] || { echo "usage: backup.sh FOLDER" >&2; exit 2; }
to=$1
[ ! -e "$to" ] || { echo "backup: $to is there already; give a new folder" >&2; exit 2; }
part=$(mktemp -d "$to.part-XXXXXX")
trap 'rm -rf "$part"' EXIT

if [ -n "$DATABASE_URL" ]; then
	postgres_url
	pg_dump --format=custom --no-owner --no-privileges --file="$part/database.dump" --dbname="$PG_URL"
	(cd "$part" && sha256sum database.dump >SHA256SUMS)
else
	[ -f "$SIZERUN_DATA/sizerun.db" ] || { echo "backup: there is no embedded store in $SIZERUN_DATA" >&2; exit 1; }
	data=$(realpath "$SIZERUN_DATA")
	# From within the folder, so that its name need not be quoted for SQL.
	(cd "$part" && sqlite3 -cmd '.timeout 30000' "$data/sizerun.db" "VACUUM INTO 'sizerun.db'")
	(cd "$part" && sha256sum sizerun.db >SHA256SUMS)
fi

if [ -n "$STORAGE_URL" ]; then
	echo "backup: files are in a bucket, which is left to its own means"
else
	mkdir "$part/files"
	# Two digits, then all of them; what is half written is in tmp and is nobody's.
	for folder in "$STORAGE_DIR"/[0-9a-f][0-9a-f]; do
		if [ -d "$folder" ]; then cp -a --reflink=auto "$folder" "$part/files/"; fi
	done
fi

sync -f "$part"
mv -T "$part" "$to"
trap - EXIT
echo "backup: $to ($(du -sh "$to" | cut -f1))"

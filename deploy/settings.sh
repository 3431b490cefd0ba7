# Read by backup.sh and restore.sh: the service's settings, and PostgreSQL's URL as libpq takes it.

# setting NAME: from NAME or from the file that NAME_FILE names, as the service has it.
setting() {
	local file=$1_FILE
	if [ -n "${!file:-}" ]; then
		[ -z "${!1:-}" ] || { echo "$1 and $1_FILE are both set; keep one" >&2; exit 2; }
		printf '%s' "$(cat -- "${!file}")"
	else
		printf '%s' "${!1:-}"
	fi
}

DATABASE_URL=$(setting DATABASE_URL)
SIZERUN_DATA=$(setting SIZERUN_DATA)
SIZERUN_DATA=${SIZERUN_DATA:-./sizerun-data}
STORAGE_DIR=$(setting STORAGE_DIR)
STORAGE_DIR=${STORAGE_DIR:-$SIZERUN_DATA/files}
STORAGE_URL=$(setting STORAGE_URL)
export -n DATABASE_URL

# postgres_url sets PG_URL, without the password: every user of the machine could see it among the
# processes.
postgres_url() {
	PG_URL=$DATABASE_URL
	if [[ $PG_URL =~ ^([a-z]+://[^:/@]*):([^@/]*)@(.*)$ ]]; then
		PG_URL=${BASH_REMATCH[1]}@${BASH_REMATCH[3]}
		local p=${BASH_REMATCH[2]//\\/\\\\}
		PGPASSWORD=$(printf '%b' "${p//%/\\x}")
		export PGPASSWORD
	fi
}

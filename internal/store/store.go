// Package store keeps what the service knows in a database. The rooms within:
//
//	db         the narrow waist: one way to say SQL to both databases
//	sqlstore   the SQL, the same for both; it implements the ports of shop
//	postgres   PostgreSQL through pgx
//	embedded   SQLite in a folder, within the process
//	storetest  the claims that both are held to
package store

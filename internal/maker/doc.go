// Package maker is the one way from a block and a style to a made pattern: the same pure function
// serves one size, a whole run and one customer's body, whoever calls it.
//
//	Block ─ grade ─► a Pattern per size ─ change ─► ─ allowance ─► cut lines ─ inspect ─► report
//
// Make gives all of that as values (Made); Made.Job turns it into what a sheet shows. Nothing here
// reads, writes, waits or knows of files: see package workroom for that.
package maker

// Package witness holds the check of our PDF files by pdfcpu, a validator that pulls in too much to
// stand in the main module. Run it with `go test ./...` in this folder.
package witness

// Command sizerun makes graded sewing patterns: as a service, as its separate parts, or in one call.
package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"os/signal"
	"syscall"

	"github.com/alecthomas/kong"
)

func main() {
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	code := run(ctx, os.Args[1:], os.Stdout, os.Stderr)
	stop()
	os.Exit(code)
}

// The exit codes.
const (
	exitOK      = 0
	exitFailed  = 1 // a check failed, or the command could not do its work
	exitRefused = 2 // the input was refused
)

// app is the command line.
type app struct {
	Serve   serveCmd   `cmd:"" help:"Run everything in one process: the service, its workers and, unless DATABASE_URL and REDIS_URL are set, its own store and queue."`
	API     apiCmd     `cmd:"" name:"api" help:"Run the HTTP service alone, on PostgreSQL and Redis."`
	Worker  workerCmd  `cmd:"" help:"Run workers alone, on PostgreSQL and Redis."`
	Migrate migrateCmd `cmd:"" help:"Bring the database's schema up to date."`
	Make    makeCmd    `cmd:"" help:"Make a style's files without any server."`
	Check   checkCmd   `cmd:"" help:"Check a block or a style in every size and print the report."`
	Demo    demoCmd    `cmd:"" help:"Show the whole way: start the service, order the demo style over HTTP, download its files."`
	Key     keyCmd     `cmd:"" help:"Make keys for shops."`
	Shop    shopCmd    `cmd:"" help:"Look after shops."`
	Listen  listenCmd  `cmd:"" help:"Forward webhooks to a server on this machine, while it is being written."`
	Links   linksCmd   `cmd:"" help:"Download links."`
	Config  configCmd  `cmd:"" help:"Look at the settings."`
	Health  healthCmd  `cmd:"" name:"healthcheck" help:"Ask a running service whether it is ready."`
	Version versionCmd `cmd:"" help:"Print the engine's version."`
}

// terminal is what a command writes to.
type terminal struct{ out, err io.Writer }

// run is the whole program as a value: tests call it with their own writers.
func run(ctx context.Context, args []string, out, errOut io.Writer) int {
	var a app
	code := -1
	parser, err := kong.New(&a, kong.Name("sizerun"),
		kong.Description("Graded sewing patterns: a style in every size, checked, on paper at true size."),
		kong.Writers(out, errOut), kong.Exit(func(c int) { code = c }),
		kong.BindTo(ctx, (*context.Context)(nil)), kong.Bind(&terminal{out, errOut}))
	if err != nil {
		fmt.Fprintln(errOut, "sizerun:", err)
		return exitFailed
	}
	k, err := parser.Parse(args)
	if code >= 0 { // --help has answered
		return code
	}
	if err != nil {
		fmt.Fprintf(errOut, "sizerun: %v\nSee sizerun --help.\n", err)
		return exitRefused
	}
	return exitOf(k.Run(), errOut)
}

// quiet carries an exit code for what has been said already.
type quiet int

func (q quiet) Error() string { return fmt.Sprintf("exit %d", int(q)) }

func exitOf(err error, errOut io.Writer) int {
	var q quiet
	switch {
	case err == nil:
		return exitOK
	case errors.As(err, &q):
		return int(q)
	case refused(err):
		fmt.Fprintln(errOut, "refused:")
		printFaults(errOut, err)
		return exitRefused
	}
	fmt.Fprintln(errOut, "sizerun:", err)
	return exitFailed
}

// Package drills breaks a running service, over and over, and then counts.
//
// Two APIs, two workers, PostgreSQL, Redis and an object storage run as processes of their own, as an
// operator's would. While orders flow from two shops, processes are killed with SIGKILL, Redis is flushed
// and restarted, PostgreSQL and the storage go away and come back, at moments drawn by a seed. At the end
// every order that was accepted has exactly one finished run, one final event, and whole files.
//
//	go test ./deploy/drills -v                                 # the short form, as the gate runs it
//	go test ./deploy/drills -v -timeout 2h -faults 2000        # the long one; -seed N draws other moments
//
// It also measures (load_test.go) and looks for what is never given back (soak_test.go):
//
//	go test ./deploy/drills -run TestLoad -load -v             # figures, on a machine that does nothing else
//	go test ./deploy/drills -run Soak -v -timeout 1h -soak 2000
//	go test ./deploy/drills -run Soak -v -timeout 1h -raced    # with the race detector in the service's processes
package drills

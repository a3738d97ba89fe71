package main

import (
	"context"
	"errors"
	"flag"
	"fmt"
	"io"
	"os"
	"os/signal"
	"syscall"
)

// Exit codes.
const (
	exitOK      = 0
	exitFailure = 1
	exitUsage   = 2
)

func main() {
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	context.AfterFunc(ctx, stop) // a second signal ends the process at once
	code := run(ctx, os.Args[1:], os.LookupEnv, os.Stderr)
	stop()
	os.Exit(code)
}

// run is the command, until ctx ends. The log and every message go to stderr.
func run(ctx context.Context, args []string, lookupEnv func(string) (string, bool), stderr io.Writer) int {
	cfg, err := parse(args, lookupEnv, stderr)
	switch {
	case errors.Is(err, flag.ErrHelp):
		return exitOK
	case err != nil:
		fmt.Fprintf(stderr, "snapgauged: %v\nRun snapgauged --help for the flags.\n", err)
		return exitUsage
	}
	err = serve(ctx, cfg, cfg.logger(stderr))
	stoppedEarly := ctx.Err() != nil && errors.Is(err, ctx.Err()) // while it was starting
	if err != nil && !stoppedEarly {
		fmt.Fprintf(stderr, "snapgauged: %v\n", err)
		return exitFailure
	}
	return exitOK
}

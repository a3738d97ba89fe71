package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"os/signal"
	"syscall"
	"time"
)

func main() {
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	code := 0
	switch err := run(ctx, ".", os.Stdout); {
	case ctx.Err() != nil:
		fmt.Fprintln(os.Stderr, "firstrun: interrupted")
		code = 130
	case errors.Is(err, errUnexpected):
		fmt.Fprintln(os.Stderr, "firstrun:", err)
		code = 1
	case err != nil:
		fmt.Fprintln(os.Stderr, "firstrun:", err)
		code = 2
	}
	stop()
	os.Exit(code)
}

// errUnexpected says that the service works, but judged otherwise than the
// records expect.
var errUnexpected = errors.New("not every record was judged as expected")

// run does the whole of it, on the repository at root. Whatever happens, the
// server is stopped and the temporary directory removed when it returns.
func run(ctx context.Context, root string, out io.Writer) (err error) {
	records, err := findRecords(root)
	if err != nil {
		return err
	}
	dir, err := os.MkdirTemp("", "snapgauge-firstrun-")
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, os.RemoveAll(dir)) }()

	begin := time.Now()
	fmt.Fprintln(out, "Building the server and the command line; the first time this takes a while.")
	programs, err := build(ctx, root, dir)
	if err != nil {
		return err
	}
	fmt.Fprintf(out, "Built in %s.\n", time.Since(begin).Round(100*time.Millisecond))

	server, err := start(ctx, programs.server, dir)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, server.stop()) }()
	fmt.Fprintf(out, "Server on %s, with an empty store.\n", server.address)

	client := &client{program: programs.client, address: server.address, root: root, dir: dir, out: out}
	judged, err := client.checkAll(ctx, records)
	if err != nil {
		return err
	}
	if err := client.tour(ctx, judged); err != nil {
		return err
	}
	unexpected := 0
	for _, j := range judged {
		if !j.asExpected {
			unexpected++
		}
	}
	fmt.Fprintf(out, "\n%d records judged over gRPC, %d as expected.\n", len(judged), len(judged)-unexpected)
	if unexpected > 0 {
		return errUnexpected
	}
	return nil
}

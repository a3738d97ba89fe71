package main

import (
	"context"
	"os"
	"os/signal"
	"syscall"
	"time"

	"golang.org/x/term"
)

func main() {
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	a := &app{
		in:  os.Stdin,
		out: os.Stdout,
		err: os.Stderr,
		env: os.Getenv,
		now: time.Now,
		terminal: func() (int, bool) {
			width, _, err := term.GetSize(int(os.Stdout.Fd()))
			return width, err == nil && width > 0
		},
	}
	code := a.run(ctx, os.Args[1:])
	stop()
	os.Exit(code)
}

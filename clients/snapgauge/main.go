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
		in:          os.Stdin,
		out:         os.Stdout,
		err:         os.Stderr,
		env:         os.Getenv,
		now:         time.Now,
		terminal:    func() (int, bool) { return widthOf(os.Stdout) },
		errTerminal: func() (int, bool) { return widthOf(os.Stderr) },
	}
	code := a.run(ctx, os.Args[1:])
	stop()
	os.Exit(code)
}

// widthOf is the width of a terminal; ok is false for what is none.
func widthOf(f *os.File) (width int, ok bool) {
	width, _, err := term.GetSize(int(f.Fd()))
	return width, err == nil && width > 0
}

package main

import (
	"bytes"
	"errors"
	"flag"
	"fmt"
	"io"
	"os"
	"strings"

	"github.com/snapgauge/snapgauge/specs/population"
)

func main() { os.Exit(run(os.Args[1:], os.Stdout, os.Stderr)) }

// run is the command, and gives its exit code.
func run(args []string, stdout, stderr io.Writer) int {
	err := write(args, stdout, stderr)
	switch {
	case err == nil, errors.Is(err, flag.ErrHelp):
		return 0
	default:
		fmt.Fprintln(stderr, "population:", err)
		return 2
	}
}

func write(args []string, stdout, stderr io.Writer) error {
	flags := flag.NewFlagSet("population", flag.ContinueOnError)
	var told bytes.Buffer
	flags.SetOutput(&told)
	seed := flags.Uint64("seed", 1, "`number` that everything is drawn from")
	records := flags.Int("records", 1000, "how many records")
	preset := flags.String("preset", "mixed", "honest or mixed")
	out := flags.String("out", "-", "`file` for the records; .gz and .zst are packed, - is standard output")
	truth := flags.String("truth", "", "`file` for the truth about each; none where it is not given")
	if err := flags.Parse(args); err != nil {
		if errors.Is(err, flag.ErrHelp) {
			_, _ = told.WriteTo(stderr)
		}
		return err
	}
	if flags.NArg() > 0 {
		return fmt.Errorf("unexpected argument %q", flags.Arg(0))
	}
	if *out == *truth {
		return fmt.Errorf("records and truth cannot both go to %s", *out)
	}
	config, err := population.Preset(*preset, *seed, *records)
	if err != nil {
		return err
	}
	made, err := population.New(config)
	if err != nil {
		return err
	}
	recordFile, err := create(*out, stdout)
	if err != nil {
		return err
	}
	var truthFile *file
	var beside io.Writer
	if strings.TrimSpace(*truth) != "" {
		if truthFile, err = create(*truth, stdout); err != nil {
			return errors.Join(err, recordFile.close())
		}
		beside = truthFile.w
	}
	err = made.Write(recordFile.w, beside)
	if closed := recordFile.close(); err == nil {
		err = closed
	}
	if truthFile != nil {
		if closed := truthFile.close(); err == nil {
			err = closed
		}
	}
	return err
}

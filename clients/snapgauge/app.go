package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"github.com/snapgauge/snapgauge/clients/snapgauge/internal/layout"
	"github.com/snapgauge/snapgauge/clients/snapgauge/internal/oswords"
	"github.com/snapgauge/snapgauge/clients/snapgauge/internal/render"
	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
	"github.com/snapgauge/snapgauge/service/quantity"
)

// app is one run of the command line. All that it knows of the world outside is
// in its fields.
type app struct {
	in       io.Reader
	out, err io.Writer
	env      func(string) string
	now      func() time.Time
	// terminal returns the width of standard output; ok is false when that is
	// no terminal.
	terminal func() (width int, ok bool)
	// errTerminal is the same of standard error; nil means that it is none.
	errTerminal func() (width int, ok bool)

	server  string
	units   choice
	output  choice
	color   choice
	timeout time.Duration

	code     exitCode // the worst so far
	shown    bool     // something was written to standard output
	outputOK error    // the first error of writing it
}

const (
	defaultServer  = "127.0.0.1:7433"
	defaultTimeout = 10 * time.Second
	pipedWidth     = 80
	leastWidth     = 40
	mostWidth      = 120 // longer lines are hard to follow with the eye
)

// run executes one command line and returns its exit code.
func (a *app) run(ctx context.Context, args []string) int {
	root := a.root()
	root.SetArgs(args)
	root.SetIn(a.in)
	root.SetOut(writer(a.write))
	root.SetErr(a.err)
	if err := root.ExecuteContext(ctx); err != nil {
		var f *failure
		if !errors.As(err, &f) {
			f = usage("%s", strings.TrimSpace(err.Error())) // cobra's, about the command line itself
		}
		a.fail(f)
	}
	if a.outputOK != nil {
		a.fail(badInput("cannot write the answer: " + oswords.Reason(a.outputOK)))
	}
	return int(a.code)
}

func (a *app) root() *cobra.Command {
	a.units = choice{allowed: []string{"metric", "us"}, value: "metric"}
	a.output = choice{allowed: []string{"table", "json"}, value: "table"}
	a.color = choice{allowed: []string{"auto", "always", "never"}, value: "auto"}
	root := &cobra.Command{
		Use:   "snapgauge",
		Short: "Says whether a motorcycle's set-up is right, and if not what to do",
		Long: `snapgauge hands set-up records to a snapgauge server and shows what came of
them: the verdict, what is wrong and by how much, what to do about it. It plans
the job before it begins, looks up and works out figures, and draws the sheets
for the bench and for the customer. It audits many records at once. It keeps the
sheets, too: it compares their revisions, publishes new ones and says which units
they affect.

Exit codes: 0 ACCEPT (of every file), or the question was answered;
1 any other verdict, or nothing was found; 2 bad usage or bad input;
3 no server answers. Of several files the worst counts.`,
		SilenceErrors: true,
		SilenceUsage:  true,
	}
	server := defaultServer
	if s := a.env("SNAPGAUGE_SERVER"); s != "" {
		server = s
	}
	var badUnits error
	if s := a.env("SNAPGAUGE_UNITS"); s != "" {
		if err := a.units.Set(s); err != nil {
			badUnits = usage("SNAPGAUGE_UNITS: %s", err)
		}
	}
	flags := root.PersistentFlags()
	flags.StringVar(&a.server, "server", server, "address of the server; also SNAPGAUGE_SERVER")
	flags.Var(&a.units, "units", "units to read in, metric or us; also SNAPGAUGE_UNITS")
	flags.VarP(&a.output, "output", "o", "how to answer, table or json")
	flags.DurationVar(&a.timeout, "timeout", defaultTimeout, "how long to wait for each answer")
	flags.Var(&a.color, "color", "colour: auto (on a terminal, unless NO_COLOR is set), always or never")
	for name, c := range map[string]*choice{"units": &a.units, "output": &a.output, "color": &a.color} {
		must(root.RegisterFlagCompletionFunc(name, cobra.FixedCompletions(c.allowed, cobra.ShellCompDirectiveNoFileComp)))
	}
	must(root.RegisterFlagCompletionFunc("server", cobra.NoFileCompletions))
	must(root.RegisterFlagCompletionFunc("timeout", cobra.NoFileCompletions))
	root.PersistentPreRunE = func(cmd *cobra.Command, _ []string) error {
		switch {
		case badUnits != nil && !cmd.Flags().Changed("units"):
			return badUnits
		case a.timeout <= 0:
			return usage("--timeout: got %s, want more than nought", a.timeout)
		}
		return nil
	}
	root.SetFlagErrorFunc(func(cmd *cobra.Command, err error) error {
		if cmd.Flags().Lookup("out") != nil && strings.Contains(err.Error(), `"-o, --output"`) {
			err = fmt.Errorf("%w; a file is named with --out", err)
		}
		return usage("%s\nsee %s --help", err, cmd.CommandPath())
	})
	root.AddCommand(a.checkCommand(), a.submitCommand(), a.auditCommand(), a.lookCommand(), a.specsCommand(),
		a.showCommand(), a.listCommand(), a.affectedCommand(), a.recordCommand(), a.planCommand(), a.calcCommand(),
		a.sheetCommand(), a.versionCommand())
	return root
}

// fail tells what went wrong and remembers how badly.
func (a *app) fail(f *failure) {
	for _, line := range f.lines {
		fmt.Fprintln(a.err, line)
	}
	a.worsen(f.code)
}

func (a *app) worsen(code exitCode) { a.code = max(a.code, code) }

// write is how all answers are written; it remembers the first error.
func (a *app) write(p []byte) (int, error) {
	n, err := a.out.Write(p)
	if a.outputOK == nil {
		a.outputOK = err
	}
	return n, err
}

type writer func([]byte) (int, error)

func (w writer) Write(p []byte) (int, error) { return w(p) }

// show writes a text, apart from the one before.
func (a *app) show(text string) {
	if a.shown {
		text = "\n" + text
	}
	a.shown = true
	_, _ = a.write([]byte(text))
}

func (a *app) json() bool { return a.output.value == "json" }

func (a *app) system() quantity.System {
	if a.units.value == "us" {
		return quantity.USCustomary
	}
	return quantity.Metric
}

func (a *app) unitSystem() pb.UnitSystem {
	if a.units.value == "us" {
		return pb.UnitSystem_UNIT_SYSTEM_US
	}
	return pb.UnitSystem_UNIT_SYSTEM_METRIC
}

// look is for whom to write.
func (a *app) look() render.Options {
	width, terminal := a.terminal()
	if !terminal {
		width = pipedWidth
	}
	colour := terminal && a.env("NO_COLOR") == "" && a.env("TERM") != "dumb"
	switch a.color.value {
	case "always":
		colour = true
	case "never":
		colour = false
	}
	return render.Options{
		Width: min(max(width, leastWidth), mostWidth),
		Ink:   layout.Ink(colour),
		Units: a.system(),
	}
}

// choice is a flag that takes one of a few words.
type choice struct {
	allowed []string
	value   string
}

func (c *choice) String() string { return c.value }
func (c *choice) Type() string   { return strings.Join(c.allowed, "|") }

func (c *choice) Set(s string) error {
	for _, word := range c.allowed {
		if strings.EqualFold(s, word) {
			c.value = word
			return nil
		}
	}
	return fmt.Errorf("got %q, want %s", s, strings.Join(c.allowed, " or "))
}

// must is for registering what this program itself defines.
func must(err error) {
	if err != nil {
		panic(err)
	}
}

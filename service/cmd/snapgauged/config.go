package main

import (
	"flag"
	"fmt"
	"io"
	"log/slog"
	"strings"
)

// config is what the flags say.
type config struct {
	listen        string
	metricsListen string // empty: no metrics
	store         string // a file, storeInMemory, or the URL of a PostgreSQL database
	sheets        string // a directory, or noSheets; empty: the embedded ones
	log           string // logText or logJSON
	addressFile   string // empty: none
}

const (
	logText = "text"
	logJSON = "json"

	storeInMemory = "memory"
	noSheets      = "none"
)

// parse reads the flags, and the environment for those that are not given. It
// writes nothing but what --help asks for; that is flag.ErrHelp.
func parse(args []string, lookupEnv func(string) (string, bool), help io.Writer) (config, error) {
	var cfg config
	set := flag.NewFlagSet("snapgauged", flag.ContinueOnError)
	set.SetOutput(io.Discard)
	set.StringVar(&cfg.listen, "listen", "127.0.0.1:7433", "`ADDRESS` for gRPC; port 0 takes a free one")
	set.StringVar(&cfg.metricsListen, "metrics-listen", "127.0.0.1:7434", "`ADDRESS` for HTTP with /metrics and /healthz; empty for none")
	set.StringVar(&cfg.store, "store", "./snapgauge.db", "`STORE` of set-ups and sheets: an SQLite file, postgres://USER@HOST/DATABASE, or \""+storeInMemory+"\" for one that is gone at exit")
	set.StringVar(&cfg.sheets, "sheets", "", "`DIR` of spec sheets to publish at the start, where the store does not have them; empty for the invented demonstration sheets, \""+noSheets+"\" for none")
	set.StringVar(&cfg.log, "log", logText, "`FORMAT` of the log: "+logText+" or "+logJSON)
	set.StringVar(&cfg.addressFile, "address-file", "", "`FILE` to hold the gRPC address while calls are answered")
	set.Usage = func() {
		fmt.Fprint(help, "Usage: snapgauged [flags]\n\nServes snapgauge over gRPC until it gets SIGINT or SIGTERM.\n\n")
		set.VisitAll(func(f *flag.Flag) {
			name, usage := flag.UnquoteUsage(f)
			fmt.Fprintf(help, "  --%s %s\n        %s (default %q, or $%s)\n", f.Name, name, usage, f.DefValue, variable(f.Name))
		})
	}
	if err := set.Parse(args); err != nil {
		return config{}, err
	}
	if set.NArg() > 0 {
		return config{}, fmt.Errorf("got the argument %q, wanted only flags", set.Arg(0))
	}
	given := make(map[string]bool)
	set.Visit(func(f *flag.Flag) { given[f.Name] = true })
	set.VisitAll(func(f *flag.Flag) {
		if value, ok := lookupEnv(variable(f.Name)); ok && !given[f.Name] {
			_ = f.Value.Set(value) // texts take any value
		}
	})
	switch {
	case cfg.listen == "":
		return config{}, fmt.Errorf("--listen: got nothing, wanted an address such as 127.0.0.1:7433")
	case cfg.store == "":
		return config{}, fmt.Errorf("--store: got nothing, wanted a file, a postgres:// URL or %q", storeInMemory)
	case cfg.log != logText && cfg.log != logJSON:
		return config{}, fmt.Errorf("--log: got %q, wanted %s or %s", cfg.log, logText, logJSON)
	}
	return cfg, nil
}

// variable is the environment variable of a flag.
func variable(name string) string {
	return "SNAPGAUGE_" + strings.ToUpper(strings.ReplaceAll(name, "-", "_"))
}

func (c config) logger(w io.Writer) *slog.Logger {
	if c.log == logJSON {
		return slog.New(slog.NewJSONHandler(w, nil))
	}
	return slog.New(slog.NewTextHandler(w, nil))
}

package main

import (
	"context"
	"errors"
	"strings"
	"time"
	"unicode"

	"github.com/spf13/cobra"

	"github.com/snapgauge/snapgauge/clients/snapgauge/internal/batch"
	"github.com/snapgauge/snapgauge/clients/snapgauge/internal/render"
	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
)

// auditFlags say what is audited, and how.
type auditFlags struct {
	stored, superseded bool
	filter             string
	format             choice
	columns            string

	revision    string
	when, known asOf
	interval    int32
	title       string

	files auditFileFlags
	retry time.Duration
	quiet bool
}

// mostInterval is the contract's.
const mostInterval = 1_000_000

func (a *app) auditCommand() *cobra.Command {
	var f auditFlags
	cmd := &cobra.Command{
		Use:   "audit FILE...",
		Short: "Judge many set-up records and tell what only shows in the many",
		Long: `Judges many set-up records, each by the revision in force on its day, keeps
nothing, and tells what only shows in the many: the share accepted by shop, the
most frequent findings, capability, and what is worth a look. An audit gives
reasons to look; it finds no fault with anyone.

Records are read from JSON Lines, CSV or Parquet files, the first two also
compressed (.gz, .zst); - is JSON Lines on standard input. Several files are one
audit, in their order. A CSV file needs --columns, a file that says what the
columns of all tables mean; snapgauge audit columns MODEL prints one to begin
with. A record that cannot be read or judged keeps its place and is counted; the
first are told of on standard error, all in the results.

With --stored the server audits the set-ups that it stores, newest first.

The summary goes to standard output. --out FILE, as often as needed, writes by
the ending of its name: .jsonl, .csv (either also .gz or .zst) or .parquet the
result of each record, .html the report, .json the summary. --save keeps the
audit's state, so that audits of parts can be joined. No file is there before
the audit is done.

Sentences count records from 1, as the column record of the results does; index,
in results, report and summary, counts them from 0. The place of each, such as
june.csv:38, is that of the line on which it begins.

When the server goes away, the audit goes on when it is back, and gives what it
would have given: records since the last checkpoint are kept for that.

Exit codes: 0 every record is accepted, or there are none; 1 some got another
verdict; 2 bad usage or input, or, after all was written, some record could not
be judged; 3 no server answers, or it was lost for longer than --retry; 130
interrupted.`,
		Example: `  snapgauge audit deliveries.jsonl.gz --out results.parquet --out report.html
  snapgauge audit export.csv --columns columns.yaml --revision varnholt-scree-200i-2026-eu@4
  snapgauge audit --stored --filter 'shop = "ridge-cycles"' --title "Ridge Cycles, 2026"`,
		ValidArgsFunction: completeRecordFiles,
		RunE: func(cmd *cobra.Command, args []string) error {
			options, err := f.options(a)
			if err != nil {
				return err
			}
			if err := f.check(cmd, args); err != nil {
				return err
			}
			var in *auditInput
			if !f.stored {
				if in, err = a.openInput(args, f.format.value, f.columns); err != nil {
					return err
				}
			}
			return a.audit(cmd.Context(), &f, options, in)
		},
	}
	f.add(a, cmd)
	cmd.AddCommand(a.auditJoinCommand(), a.auditColumnsCommand())
	return cmd
}

func (f *auditFlags) add(a *app, cmd *cobra.Command) {
	f.format = choice{allowed: batch.Formats}
	flags := cmd.Flags()
	flags.Var(&f.format, "format", "what the files hold (default: as their names say)")
	flags.StringVar(&f.columns, "columns", "", "file that says what the columns of tables mean (YAML)")
	flags.BoolVar(&f.stored, "stored", false, "audit the set-ups that the server stores")
	flags.StringVar(&f.filter, "filter", "", "which stored set-ups, as for snapgauge list; with --stored")
	flags.BoolVar(&f.superseded, "include-superseded", false, "also stored set-ups that were corrected; with --stored")
	flags.StringVar(&f.revision, "revision", "", "judge every record by this revision, SPEC@N, whatever was in force")
	addAsOf(cmd, &f.when, "judge every record by the sheets of this day, not of that on which its work was finished")
	addKnown(cmd, &f.known)
	f.files.add(cmd, "write results (.jsonl, .csv, .parquet), the report (.html) or the summary (.json) to this file; repeat for more",
		append(recordEndings(), "html", "json")...)
	flags.Int32Var(&f.interval, "checkpoint-interval", 0, "records between checkpoints; fewer need less memory (default: 10000)")
	flags.StringVar(&f.title, "title", "", "title of the report: what was audited")
	addRetry(cmd, &f.retry)
	flags.BoolVar(&f.quiet, "quiet", false, "no line of progress")
	must(cmd.RegisterFlagCompletionFunc("format", cobra.FixedCompletions(f.format.allowed, cobra.ShellCompDirectiveNoFileComp)))
	must(cmd.RegisterFlagCompletionFunc("columns", func(*cobra.Command, []string, string) ([]cobra.Completion, cobra.ShellCompDirective) {
		return []cobra.Completion{"yaml", "yml"}, cobra.ShellCompDirectiveFilterFileExt
	}))
	must(cmd.RegisterFlagCompletionFunc("revision", func(cmd *cobra.Command, _ []string, typed string) ([]cobra.Completion, cobra.ShellCompDirective) {
		return a.completeRevision(cmd, nil, typed)
	}))
	for _, name := range []string{"filter", "checkpoint-interval", "title"} {
		must(cmd.RegisterFlagCompletionFunc(name, cobra.NoFileCompletions))
	}
}

// check refuses flags that do not go together.
func (f *auditFlags) check(cmd *cobra.Command, args []string) error {
	switch {
	case f.stored && len(args) > 0:
		return usage("audit: got a FILE and --stored; want one or the other\nsee %s --help", cmd.CommandPath())
	case !f.stored && len(args) == 0:
		return usage("audit: want at least one FILE, - for standard input, or --stored\nsee %s --help", cmd.CommandPath())
	case checkRetry(f.retry) != nil:
		return checkRetry(f.retry)
	case strings.ContainsFunc(f.title, func(r rune) bool { return unicode.Is(unicode.C, r) }):
		return usage("--title: want one line, without control characters")
	case f.interval < 0 || f.interval > mostInterval:
		return usage("--checkpoint-interval: got %d, want 1 to %d, or 0 for as many as is usual", f.interval, mostInterval)
	}
	// An empty one is most often a variable of a script that was never set, and to
	// go on without it would judge otherwise than was meant.
	for name, want := range map[string]string{"columns": "the name of a file", "revision": "a revision, SPEC@N"} {
		if given := cmd.Flags().Lookup(name); given.Changed && given.Value.String() == "" {
			return usage("--%s: is empty; want %s", name, want)
		}
	}
	for name, withStored := range map[string]bool{"filter": true, "include-superseded": true, "format": false, "columns": false} {
		if cmd.Flags().Changed(name) && withStored != f.stored {
			if withStored {
				return usage("--%s: goes with --stored", name)
			}
			return usage("--%s: goes with a FILE, not with --stored", name)
		}
	}
	return nil
}

// options are how records are judged. The error is a *failure.
func (f *auditFlags) options(a *app) (*pb.AuditOptions, error) {
	o := &pb.AuditOptions{
		AsOfTime: f.when.time, KnownTime: f.known.time, UnitSystem: a.unitSystem(), HtmlReport: f.files.html(),
		CheckpointInterval: f.interval, Title: f.title,
	}
	if f.revision != "" {
		ref, err := parseRevision(f.revision)
		if err != nil {
			return nil, usage("--revision: %s", strings.TrimPrefix(err.Error(), "snapgauge: "))
		}
		o.SpecRevision = ref.name()
	}
	return o, nil
}

// auditWords are what the command line calls the fields of an audit's request.
func auditWords() map[string]string {
	words := make(map[string]string)
	for field, flag := range map[string]string{
		"spec_revision": "--revision", "as_of_time": "--as-of", "known_time": "--known",
		"checkpoint_interval": "--checkpoint-interval", "title": "--title", "filter": "--filter",
	} {
		for _, path := range []string{"", "start.", "options.", "start.options."} {
			words[path+field] = flag
		}
	}
	return words
}

// audit audits files, or with nil for the input what the server stores.
func (a *app) audit(ctx context.Context, f *auditFlags, options *pb.AuditOptions, in *auditInput) error {
	var inputs []string
	if in != nil {
		inputs = append([]string{f.columns}, in.files...)
	}
	out, err := f.files.open(true, inputs)
	if err != nil {
		return err
	}
	defer out.discard()
	c, err := a.dial()
	if err != nil {
		return err
	}
	defer c.close()
	line := a.newProgress(f.quiet, in.share)
	defer line.end()
	r := &auditRun{
		client: c, out: out, line: line, bad: &badRecords{say: line.say}, retry: f.retry, words: auditWords(),
	}
	if in == nil {
		r.kind = auditStored
		r.start = &pb.AuditStoredSetupsRequest{Message: &pb.AuditStoredSetupsRequest_Start{Start: &pb.AuditStoredStart{
			Options: options, Filter: f.filter, IncludeSuperseded: f.superseded,
		}}}
	} else {
		r.start = &pb.AuditSetupsRequest{Message: &pb.AuditSetupsRequest_Start{Start: options}}
		r.feed = newFeed()
		go in.read(r.feed) // until it is stopped; a read of standard input may outlast it
	}
	done, err := r.run(ctx)
	line.end()
	if err != nil {
		return err
	}
	r.bad.rest(done.summary.GetErrorCount())
	return a.showAudit(done, out, &r.places)
}

// showAudit shows the summary, puts the files in their places, and notes what it
// all means for the exit code. places is nil where nobody knows where records stand.
func (a *app) showAudit(done *audited, out *auditOutput, places *placeList) error {
	switch s := done.summary; {
	case s.GetErrorCount() > 0:
		a.worsen(exitInput)
	case s.GetTotal().GetAcceptedCount() < s.GetRecordCount():
		a.worsen(exitVerdict)
	}
	wrote, failed := out.finish(done)
	if a.json() {
		return errors.Join(a.showJSON(done.summary), failed)
	}
	a.show(render.Audit(done.summary, places.of, a.look()))
	if len(wrote) > 0 {
		a.show(strings.Join(wrote, "\n") + "\n")
	}
	return failed
}

// recordEndings are the endings of files with many records.
func recordEndings() []cobra.Completion {
	return append(append([]string{}, batch.Formats...), "gz", "zst")
}

// completeRecordFiles offers files that may hold many records. As the first
// argument it offers all, since the name of a subcommand may stand there as well.
func completeRecordFiles(_ *cobra.Command, args []string, _ string) ([]cobra.Completion, cobra.ShellCompDirective) {
	if len(args) == 0 {
		return nil, cobra.ShellCompDirectiveDefault
	}
	return recordEndings(), cobra.ShellCompDirectiveFilterFileExt
}

package main

import (
	"bufio"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"github.com/snapgauge/snapgauge/clients/snapgauge/internal/batch"
	"github.com/snapgauge/snapgauge/clients/snapgauge/internal/layout"
	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
	"github.com/snapgauge/snapgauge/service/phrase"
)

// auditFile is what a file that an audit writes is to hold.
type auditFile int

const (
	auditResults auditFile = iota
	auditReport
	auditSummary
	auditSaved
)

// auditFileOf tells by its name what a file is to hold.
func auditFileOf(name string) (auditFile, bool) {
	base := strings.ToLower(filepath.Base(name))
	switch filepath.Ext(base) {
	case ".html":
		return auditReport, true
	case ".json":
		return auditSummary, true
	}
	base = strings.TrimSuffix(strings.TrimSuffix(base, ".gz"), ".zst")
	return auditResults, slices.Contains(batch.Formats, strings.TrimPrefix(filepath.Ext(base), "."))
}

// auditFileFlags name the files that an audit writes.
type auditFileFlags struct {
	out    []string
	save   string
	saving func() bool // whether --save is there, whatever it says
	force  bool
}

func (f *auditFileFlags) add(cmd *cobra.Command, out string, endings ...string) {
	flags := cmd.Flags()
	flags.StringArrayVar(&f.out, "out", nil, out)
	flags.StringVar(&f.save, "save", "", "write the audit's state to this file, such as july.audit, for snapgauge audit join")
	f.saving = func() bool { return flags.Changed("save") }
	flags.BoolVar(&f.force, "force", false, "overwrite files that are there")
	must(cmd.RegisterFlagCompletionFunc("out", func(*cobra.Command, []string, string) ([]cobra.Completion, cobra.ShellCompDirective) {
		return endings, cobra.ShellCompDirectiveFilterFileExt
	}))
	must(cmd.RegisterFlagCompletionFunc("save", completeSaved))
}

// html reports whether the report is wanted.
func (f *auditFileFlags) html() bool {
	return slices.ContainsFunc(f.out, func(name string) bool {
		kind, _ := auditFileOf(name)
		return kind == auditReport
	})
}

// auditOutput are the files that an audit writes. Until it is finished, nothing is
// there, or what was there before; what cannot be put in its place at once, such
// as a pipe, is written as it goes.
type auditOutput struct {
	results []*resultFile
	files   []*wholeFile // summary, report, saved state
}

// resultFile is a file of results.
type resultFile struct {
	name    string
	special bool // no regular file: what was written cannot be taken back
	sink    batch.Sink
	next    int64 // index of the next result that it wants
}

// wholeFile is a file that is written at the end. It is begun at the beginning, so
// that a place that cannot be written to is told before the work is done.
type wholeFile struct {
	name string
	kind auditFile
	file *batch.Output
}

// open begins all files. results says whether there are any to write; the inputs
// are files that may not be written over, since who means that is rare and who
// mistypes it loses them. The error is a *failure.
func (f *auditFileFlags) open(results bool, inputs []string) (_ *auditOutput, err error) {
	o := &auditOutput{}
	defer func() {
		if err != nil {
			o.discard()
		}
	}()
	seen := make(map[string]bool)
	begin := func(name string, kind auditFile) error {
		if seen[filepath.Clean(name)] {
			return usage("%s: is to be written twice", name)
		}
		seen[filepath.Clean(name)] = true
		special, err := f.check(name, inputs)
		if err != nil {
			return err
		}
		if kind == auditResults {
			r := &resultFile{name: name, special: special}
			o.results = append(o.results, r)
			return r.begin()
		}
		file, err := batch.CreateOutput(name)
		if err != nil {
			return outputFailure(err)
		}
		o.files = append(o.files, &wholeFile{name, kind, file})
		return nil
	}
	for _, name := range f.out {
		kind, ok := auditFileOf(name)
		switch {
		case name == "":
			return nil, usage("--out: is empty; want the name of a file")
		case name == "-":
			return nil, usage("--out: standard output has the summary; want the name of a file")
		case !ok && results:
			return nil, usage("--out %s: the name does not say what to write; want one that ends in .jsonl, .csv or .parquet for results (the first two also with .gz or .zst), .html for the report, or .json for the summary", layout.Clean(name))
		case !results && (!ok || kind == auditResults):
			return nil, usage("--out %s: want a name that ends in .html for the report or in .json for the summary; the results were told when the parts were audited", layout.Clean(name))
		}
		if err := begin(name, kind); err != nil {
			return nil, err
		}
	}
	if f.saving() {
		switch f.save {
		case "":
			return nil, usage("--save: is empty; want the name of a file")
		case "-":
			return nil, usage("--save: standard output has the summary; want the name of a file")
		}
		if err := begin(f.save, auditSaved); err != nil {
			return nil, err
		}
	}
	return o, nil
}

// check refuses to write over an input, and over another file unless told to;
// special says that the name is that of no regular file.
func (f *auditFileFlags) check(name string, inputs []string) (special bool, err error) {
	info, err := os.Stat(name)
	switch {
	case err != nil:
		return false, nil // it is not there, or creating it will tell why not
	case info.IsDir():
		return false, unwritable(name, errIsDirectory)
	case !info.Mode().IsRegular():
		return true, nil
	}
	for _, input := range inputs {
		if other, err := os.Stat(input); err == nil && os.SameFile(info, other) {
			return false, usage("%s: is read from, and would be written over; want another name", layout.Clean(name))
		}
	}
	if !f.force {
		return false, unwritable(name, fs.ErrExist)
	}
	return false, nil
}

func (r *resultFile) begin() (err error) {
	if r.sink, err = batch.Create(r.name, nil, batch.CreateOptions{}); err != nil {
		return outputFailure(err)
	}
	r.next = 0
	return nil
}

// outputFailure is a failure to write results; the error names the file.
func outputFailure(err error) *failure {
	return &failure{code: exitInput, lines: []string{layout.Clean(err.Error())}}
}

// write adds a result to all files of results, but where it was written before.
func (o *auditOutput) write(result *pb.AuditResult, place batch.Place) error {
	for _, r := range o.results {
		if result.GetIndex() < r.next {
			continue
		}
		if err := r.sink.Write(result, place); err != nil {
			return outputFailure(err)
		}
		r.next = result.GetIndex() + 1
	}
	return nil
}

// restart takes back all results, since the audit begins anew: what was known when
// it began may differ from before. What cannot be taken back stays.
func (o *auditOutput) restart() error {
	for _, r := range o.results {
		if r.special {
			continue
		}
		r.sink.Discard()
		if err := r.begin(); err != nil {
			return err
		}
	}
	return nil
}

// wants reports whether a file of this kind is to be written at the end.
func (o *auditOutput) wants(kind auditFile) bool {
	return slices.ContainsFunc(o.files, func(w *wholeFile) bool { return w.kind == kind })
}

// audited is what came of an audit.
type audited struct {
	summary *pb.AuditSummary
	report  []byte
	state   *checkpoint
}

// finish puts the files in their places and says what was written where. What goes
// wrong with one does not keep the next from being written. The error is a
// *failure.
func (o *auditOutput) finish(done *audited) (said []string, err error) {
	failed := &failure{code: exitInput}
	for _, r := range o.results {
		if err := r.sink.Close(); err != nil {
			failed.lines = append(failed.lines, outputFailure(err).lines...)
			continue
		}
		said = append(said, "wrote "+layout.Clean(r.name)+", "+phrase.Many(r.next, "result"))
	}
	for _, w := range o.files {
		if err := w.finish(done); err != nil {
			failed.lines = append(failed.lines, outputFailure(err).lines...)
			continue
		}
		what := map[auditFile]string{auditReport: "the report", auditSummary: "the summary", auditSaved: "the audit's state"}[w.kind]
		said = append(said, "wrote "+layout.Clean(w.name)+", "+what+", "+size(int(w.file.Size())))
	}
	if len(failed.lines) > 0 {
		return said, failed
	}
	return said, nil
}

// discard removes what is not finished.
func (o *auditOutput) discard() {
	for _, r := range o.results {
		if r.sink != nil {
			r.sink.Discard()
		}
	}
	for _, w := range o.files {
		w.file.Discard()
	}
}

// finish writes the file and puts it in its place. The error names it.
func (w *wholeFile) finish(done *audited) error {
	out := bufio.NewWriter(w.file)
	err := w.content(out, done)
	if err == nil {
		err = out.Flush()
	}
	if err != nil {
		w.file.Discard()
		return err
	}
	return w.file.Close()
}

func (w *wholeFile) content(out io.Writer, done *audited) error {
	switch w.kind {
	case auditReport:
		_, err := out.Write(done.report)
		return err
	case auditSaved:
		return done.state.write(out)
	}
	text, err := stableJSON(done.summary)
	if err != nil {
		return fmt.Errorf("%s: %w", w.name, err)
	}
	_, err = io.WriteString(out, text)
	return err
}

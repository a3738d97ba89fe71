package main

import (
	"errors"
	"io/fs"
	"os"
	"path/filepath"
	"regexp"
	"strings"

	"github.com/spf13/cobra"

	"github.com/snapgauge/snapgauge/clients/snapgauge/internal/layout"
	"github.com/snapgauge/snapgauge/clients/snapgauge/internal/oswords"
	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
)

// sheetFile is the file that a sheet is written to, by its flags.
type sheetFile struct {
	html, pdf, force bool
	paper            choice
	out              string // empty for the server's name, "-" for standard output
}

func (f *sheetFile) add(cmd *cobra.Command) {
	f.paper = choice{allowed: []string{"a4", "letter"}}
	flags := cmd.Flags()
	flags.BoolVar(&f.html, "html", false, "as HTML (default)")
	flags.BoolVar(&f.pdf, "pdf", false, "as PDF (default where --out ends in .pdf)")
	flags.Var(&f.paper, "paper", "paper to lay it out for (default: letter with --units us, else a4)")
	flags.StringVar(&f.out, "out", "", "write it to this file, or - for standard output (default: the server's name for it)")
	flags.BoolVar(&f.force, "force", false, "overwrite a file that is there")
	cmd.MarkFlagsMutuallyExclusive("html", "pdf")
	must(cmd.RegisterFlagCompletionFunc("paper", cobra.FixedCompletions(f.paper.allowed, cobra.ShellCompDirectiveNoFileComp)))
	must(cmd.RegisterFlagCompletionFunc("out", func(*cobra.Command, []string, string) ([]cobra.Completion, cobra.ShellCompDirective) {
		return []cobra.Completion{"html", "pdf"}, cobra.ShellCompDirectiveFilterFileExt
	}))
}

func (f *sheetFile) format() pb.SheetFormat {
	if f.pdf || !f.html && strings.EqualFold(filepath.Ext(f.out), ".pdf") {
		return pb.SheetFormat_SHEET_FORMAT_PDF
	}
	return pb.SheetFormat_SHEET_FORMAT_HTML
}

func (f *sheetFile) paperSize(units pb.UnitSystem) pb.PaperSize {
	if f.paper.value == "letter" || f.paper.value == "" && units == pb.UnitSystem_UNIT_SYSTEM_US {
		return pb.PaperSize_PAPER_SIZE_LETTER
	}
	return pb.PaperSize_PAPER_SIZE_A4
}

// check finds out what can be found out before the sheet is drawn.
func (f *sheetFile) check(a *app) error {
	switch {
	case a.json() && f.out != "":
		return usage("--out: not with -o json, which answers with the API's message and writes no file")
	case f.out == "":
		return nil
	case f.out == "-":
		if _, terminal := a.terminal(); terminal && f.format() == pb.SheetFormat_SHEET_FORMAT_PDF {
			return usage("--out -: standard output is a terminal, and a PDF is not text; name a file or use a pipe")
		}
		return nil
	}
	if info, err := os.Stat(f.out); err == nil {
		if info.IsDir() {
			return unwritable(f.out, errIsDirectory)
		}
		if !f.force {
			return unwritable(f.out, fs.ErrExist)
		}
	}
	return nil
}

// safeName is what is taken for a file name from a server: no path, nothing
// hidden, nothing that a shell or a file system reads otherwise.
var safeName = regexp.MustCompile(`^[A-Za-z0-9][A-Za-z0-9._-]{0,199}$`)

// write writes the sheet and returns the name of the file. The error is a
// *failure.
func (f *sheetFile) write(sheet *pb.RenderSheetResponse) (name string, err error) {
	name = f.out
	if name == "" {
		name = sheet.GetFileName()
		if !safeName.MatchString(name) {
			return "", badInput("the server names the file " + layout.Clean(name) + ", which is not taken; name one with --out")
		}
	}
	how := os.O_WRONLY | os.O_CREATE | os.O_EXCL
	if f.force {
		how = os.O_WRONLY | os.O_CREATE | os.O_TRUNC
	}
	file, err := os.OpenFile(name, how, 0o644)
	if err != nil {
		return "", unwritable(name, err)
	}
	_, err = file.Write(sheet.GetContent())
	if err = errors.Join(err, file.Close()); err != nil {
		if !f.force { // then it is ours, and half a sheet is of no use
			_ = os.Remove(name)
		}
		return "", unwritable(name, err)
	}
	return name, nil
}

var errIsDirectory = errors.New("this is a directory; want the name of a file")

// unwritable is a failure to write a file.
func unwritable(name string, err error) *failure {
	why := oswords.Reason(err)
	switch {
	case errors.Is(err, fs.ErrExist):
		why = "is there already; --force overwrites it"
	case errors.Is(err, fs.ErrNotExist):
		why = "there is no such directory"
	case errors.Is(err, fs.ErrPermission):
		why = "may not be written"
	}
	return &failure{code: exitInput, lines: []string{name + ": " + why}}
}

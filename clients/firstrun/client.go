package main

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"

	"google.golang.org/protobuf/encoding/protojson"
	"google.golang.org/protobuf/proto"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
	"github.com/snapgauge/snapgauge/service/phrase"
)

// client runs the command line.
type client struct {
	program, address, root string
	dir                    string // for what it writes
	out                    io.Writer
}

// judged is what came of one record.
type judged struct {
	file       string
	report     *pb.Report
	asExpected bool
	problem    string // why there is no report, where there is none
}

// Exit codes of the command line, as it documents them.
const (
	exitVerdict = 1
	exitInput   = 2
)

// commandError is a command that ended without an answer.
type commandError struct {
	command string
	code    int
	said    string
}

func (e *commandError) Error() string {
	return fmt.Sprintf("%s ended with %d:\n%s", e.command, e.code, e.said)
}

// checkAll has every record judged and writes a line for each.
func (c *client) checkAll(ctx context.Context, files []string) ([]judged, error) {
	fmt.Fprintf(c.out, "\nEvery record of %s, its verdict and what was found:\n\n", recordsDir)
	width := 0
	for _, file := range files {
		width = max(width, len(name(file)))
	}
	all := make([]judged, 0, len(files))
	for _, file := range files {
		j, err := c.check(ctx, file)
		if err != nil {
			return nil, err
		}
		all = append(all, j)
		fmt.Fprintln(c.out, summary(j, width))
	}
	return all, nil
}

// check has one record judged. One that is refused is an answer too, though never
// the expected one.
func (c *client) check(ctx context.Context, file string) (judged, error) {
	answer := new(pb.ValidateSetupResponse)
	code, err := c.ask(ctx, answer, "check", "--expect", "-o", "json", file)
	if refused := (*commandError)(nil); errors.As(err, &refused) && refused.code == exitInput {
		first, _, _ := strings.Cut(refused.said, "\n")
		return judged{file: file, problem: first}, nil
	}
	if err != nil {
		return judged{}, err
	}
	return judged{file: file, report: answer.GetReport(), asExpected: code == 0}, nil
}

// summary is one line about a record: the name of its file, the verdict, whether
// that was expected, the codes.
func summary(j judged, width int) string {
	expected := "as expected    "
	if !j.asExpected {
		expected = "NOT AS EXPECTED"
	}
	verdict, found := phrase.Name(j.report.GetVerdict()), strings.Join(codes(j.report), " ")
	if j.problem != "" {
		verdict, found = "refused", j.problem
	}
	line := fmt.Sprintf("%-*s  %-10s  %s  %s", width, name(j.file), verdict, expected, found)
	return strings.TrimRight(line, " ")
}

// codes are the finding codes of a report, each once, in its order.
func codes(r *pb.Report) []string {
	var all []string
	for _, f := range r.GetFindings() {
		code := phrase.Name(f.GetCode())
		if !slices.Contains(all, code) {
			all = append(all, code)
		}
	}
	return all
}

func name(file string) string { return strings.TrimSuffix(filepath.Base(file), ".yaml") }

// tour shows the rest of the command line.
func (c *client) tour(ctx context.Context, all []judged) error {
	accepted, rejected := pick(all)
	var files []string
	for _, j := range []*judged{accepted, rejected} {
		if j == nil {
			continue
		}
		files = append(files, j.file)
		if err := c.show(ctx, "check", j.file); err != nil {
			return err
		}
	}
	fmt.Fprintln(c.out)
	for _, file := range files {
		answer := new(pb.SubmitSetupResponse)
		fmt.Fprintf(c.out, "$ snapgauge submit %s\n", filepath.ToSlash(file))
		if _, err := c.ask(ctx, answer, "submit", "-o", "json", file); err != nil {
			return err
		}
		fmt.Fprintf(c.out, "stored as %s (report left out here)\n", answer.GetSetup().GetName())
	}
	if err := c.show(ctx, "list"); err != nil {
		return err
	}
	specs := new(pb.ListSpecsResponse)
	if _, err := c.ask(ctx, specs, "specs", "-o", "json"); err != nil {
		return err
	}
	if len(specs.GetSpecs()) == 0 {
		return errors.New("the server has no spec sheets")
	}
	model := specs.GetSpecs()[len(specs.GetSpecs())-1].GetModel()
	if err := c.show(ctx, "look", model, "rear", "axle", "nut", "-n", "1"); err != nil {
		return err
	}
	fmt.Fprintln(c.out)
	if err := c.plan(ctx, model); err != nil {
		return err
	}
	if err := c.calculate(ctx); err != nil {
		return err
	}
	return c.sheet(ctx, model)
}

// plan shows what job is planned, without its steps.
func (c *client) plan(ctx context.Context, model string) error {
	args := []string{"plan", model, "--rider", "82+11", "--temperature", "7"}
	var out bytes.Buffer
	if _, err := c.run(ctx, &out, args...); err != nil {
		return err
	}
	head, _, _ := strings.Cut(out.String(), "\n")
	fmt.Fprintf(c.out, "%s\n%s (left out here)\n", typed(args), head)
	return nil
}

// calculate shows the result of one formula.
func (c *client) calculate(ctx context.Context) error {
	args := []string{"calc", "wrench-setting", "torque=20 N.m", "wrench_length=350 mm", "extension=2 in"}
	answer := new(pb.CalculateResponse)
	if _, err := c.ask(ctx, answer, append(args, "-o", "json")...); err != nil {
		return err
	}
	fmt.Fprintln(c.out, typed(args))
	for _, r := range answer.GetCalculation().GetResults() {
		fmt.Fprintf(c.out, "%s %s: %s\n", r.GetName(), r.GetText(), r.GetDescription())
	}
	return nil
}

// sheet has a job sheet drawn, and tells its size.
func (c *client) sheet(ctx context.Context, model string) error {
	args := []string{"sheet", "job", model, "--pdf"}
	file := filepath.Join(c.dir, "job.pdf")
	if _, err := c.run(ctx, io.Discard, append(args, "--out", file)...); err != nil {
		return err
	}
	info, err := os.Stat(file)
	if err != nil {
		return err
	}
	fmt.Fprintf(c.out, "%s\na PDF of %d kB (thrown away here)\n", typed(args), (info.Size()+999)/1000)
	return nil
}

// pick chooses an accepted record and, of those rejected for what is wrong with
// the machine, the one with the shortest report; one with a fill above the safe
// level goes before all others. Either may be nil.
func pick(all []judged) (accepted, rejected *judged) {
	rank := func(j *judged) int {
		findings := j.report.GetFindings()
		n := len(findings)
		for _, f := range findings {
			switch {
			case f.GetCode() == pb.FindingCode_FINDING_CODE_FILL_ABOVE_SAFE_LEVEL:
				return n
			case f.GetSeverity() == pb.Severity_SEVERITY_RECORD:
				n += 1000
			}
		}
		return 100 + n
	}
	for i := range all {
		j := &all[i]
		switch j.report.GetVerdict() {
		case pb.Verdict_VERDICT_ACCEPT:
			if accepted == nil {
				accepted = j
			}
		case pb.Verdict_VERDICT_REJECT:
			if rejected == nil || rank(j) < rank(rejected) {
				rejected = j
			}
		}
	}
	return accepted, rejected
}

// show runs a command with its output where ours goes, as a person would see
// it. A verdict other than ACCEPT is no error.
func (c *client) show(ctx context.Context, args ...string) error {
	fmt.Fprintf(c.out, "\n%s\n", typed(args))
	_, err := c.run(ctx, c.out, args...)
	return err
}

// typed is a command as a person types it.
func typed(args []string) string {
	words := make([]string, len(args))
	for i, arg := range args {
		words[i] = filepath.ToSlash(arg)
		if strings.Contains(arg, " ") {
			words[i] = `"` + arg + `"`
		}
	}
	return "$ snapgauge " + strings.Join(words, " ")
}

// ask runs a command that answers in JSON.
func (c *client) ask(ctx context.Context, answer proto.Message, args ...string) (code int, err error) {
	var out bytes.Buffer
	if code, err = c.run(ctx, &out, args...); err != nil {
		return code, err
	}
	if err := protojson.Unmarshal(out.Bytes(), answer); err != nil {
		return code, fmt.Errorf("snapgauge %s: the answer cannot be read: %w", strings.Join(args, " "), err)
	}
	return code, nil
}

// run runs a command. Exit codes 0 and 1 are answers; any other is a
// *commandError.
func (c *client) run(ctx context.Context, out io.Writer, args ...string) (code int, err error) {
	var errs bytes.Buffer
	cmd := exec.CommandContext(ctx, c.program, append([]string{"--server", c.address}, args...)...)
	cmd.Dir, cmd.Env = c.root, environment()
	cmd.Stdout, cmd.Stderr = out, &errs
	err = cmd.Run()
	var exit *exec.ExitError
	switch {
	case err == nil:
		return 0, nil
	case ctx.Err() != nil:
		return 0, ctx.Err()
	case errors.As(err, &exit) && exit.ExitCode() == exitVerdict:
		return exitVerdict, nil
	case errors.As(err, &exit):
		return 0, &commandError{"snapgauge " + strings.Join(args, " "), exit.ExitCode(), strings.TrimSpace(errs.String())}
	}
	return 0, fmt.Errorf("snapgauge: %w", err)
}

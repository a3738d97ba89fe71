package main

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"regexp"
	"slices"
	"strconv"
	"strings"

	"google.golang.org/genproto/googleapis/rpc/errdetails"
	"google.golang.org/grpc/codes"
	"google.golang.org/grpc/status"

	"github.com/snapgauge/snapgauge/clients/snapgauge/internal/layout"
)

// explain turns the error of a call into lines for a person: faults of the
// document with their place in the file, faults of a flag with its name.
func explain(ctx context.Context, err error, c *client, p place) *failure {
	s := status.Convert(err)
	f := inWords(ctx, s, c, p)
	f.status = s.Code()
	return f
}

func inWords(ctx context.Context, s *status.Status, c *client, p place) *failure {
	fail := func(code exitCode, format string, args ...any) *failure {
		return &failure{code: code, lines: []string{p.about() + fmt.Sprintf(format, args...)}}
	}
	if ctx.Err() != nil {
		return &failure{code: exitInterrupted, lines: []string{"snapgauge: interrupted"}}
	}
	message := layout.Clean(s.Message())
	switch s.Code() {
	case codes.Unavailable:
		switch info(s).GetReason() {
		case "CATALOGUE_STALE", "SHEET_NOT_LOADED":
			return fail(exitServer, "the server at %s answers nothing for now: %s", c.address, message)
		}
		return fail(exitServer, "no snapgauge server answers at %s%s", c.address, unreachable(s.Message()))
	case codes.DeadlineExceeded:
		return fail(exitServer, "the server at %s did not answer within %s", c.address, c.timeout)
	case codes.InvalidArgument:
		return faults(s, message, p)
	case codes.NotFound, codes.FailedPrecondition, codes.AlreadyExists, codes.OutOfRange:
		return &failure{code: exitInput, lines: []string{blamedAt(s, p) + message + suggestions(s, message)}}
	case codes.Aborted:
		return fail(exitInput, "%s", message)
	case codes.PermissionDenied, codes.Unauthenticated:
		return fail(exitInput, "the server refuses: %s", message)
	case codes.Unimplemented:
		return fail(exitServer, "what answers at %s does not know this request; is it a snapgauge server of this version?", c.address)
	case codes.ResourceExhausted:
		return fail(exitServer, "the server at %s has too much to do, or the answer is too large: %s", c.address, message)
	}
	return fail(exitServer, "the server at %s failed: %s", c.address, message)
}

// unreachable guesses from the transport's words why nobody answers. The words
// are not part of any contract; when they change, the guess is left out.
func unreachable(transport string) string {
	for _, known := range []struct{ transport, person string }{
		{"connection refused", ": nothing listens there; is snapgauged running?"},
		{"no such host", ": there is no such host"},
		{"missing address", ": there is no such host"},
		{"no such file", ": there is no such socket"},
		{"produced zero addresses", ": there is no such host"},
		{"missing port", ": the port is missing; want host:port"},
		{"invalid port", ": that is no port; want host:port"},
		{"unknown port", ": that is no port; want host:port"},
		{"network is unreachable", ": the network cannot be reached"},
		{"no route to host", ": the host cannot be reached"},
		{"preface", ": something else listens there"},
		{"shutting down", ": it is shutting down"},
		{"handshake", ": something else listens there"},
		{"frame", ": something else listens there"},
	} {
		if strings.Contains(transport, known.transport) {
			return known.person
		}
	}
	return ""
}

// faults lists the field violations of a request, each with its place: those of
// the command line first, then those of the document from its beginning on.
func faults(s *status.Status, message string, p place) *failure {
	type fault struct {
		document, line, column int
		text                   string
	}
	var found []fault
	for _, detail := range s.Details() {
		bad, ok := detail.(*errdetails.BadRequest)
		if !ok {
			continue
		}
		for _, v := range bad.GetFieldViolations() {
			description := layout.Clean(v.GetDescription())
			if shape := shapes[lastName(v.GetField())]; shape != "" && v.GetReason() == "string.pattern" {
				description = "want " + shape
			}
			of, field, document, inDocument := p.document(v.GetField())
			if !inDocument {
				found = append(found, fault{text: "snapgauge: " + prefix(cmp.Or(p.words[withoutIndex(field)], flagOf(field)), description)})
				continue
			}
			line, column, _ := of.lines.Line(field)
			found = append(found, fault{document, line, column, of.at(field) + prefix(layout.Clean(field), description)})
		}
	}
	slices.SortStableFunc(found, func(a, b fault) int { return cmp.Or(a.document-b.document, a.line-b.line, a.column-b.column) })
	f := &failure{code: exitInput}
	for _, one := range found {
		f.lines = append(f.lines, one.text)
	}
	switch more := unlisted(message); {
	case len(f.lines) == 0:
		f.lines = []string{p.about() + message}
	case more > 0:
		f.lines = append(f.lines, fmt.Sprintf("%sand %d more, which the server has no room to list", p.about(), more))
	}
	return f
}

var listed = regexp.MustCompile(`\(and (\d+) more; the first (\d+) are listed\)$`)

// unlisted reads off a message how many violations were left out of the list.
// The words are not part of any contract; when they change, it is nought.
func unlisted(message string) int {
	m := listed.FindStringSubmatch(message)
	if m == nil {
		return 0
	}
	more, _ := strconv.Atoi(m[1])
	first, _ := strconv.Atoi(m[2])
	return more + 1 - first
}

// shapes says in words what the patterns of the contract want.
var shapes = map[string]string{
	"shop":           "small letters, digits and hyphens, such as ridge-cycles",
	"market":         "two capital letters, such as US or EU",
	"characteristic": "small letters, digits and underscores, such as oil_drain_bolt",
	"options":        "small letters, digits and underscores, such as skid_plate",
	"id":             "small letters, digits, hyphens and underscores, such as wrench-1",
	"supersedes":     "the name of a stored set-up, setups/...",
	"name":           "a name as snapgauge lists it",
	"parent":         "a name as snapgauge lists it",
	"base":           "a name as snapgauge specs lists it",
	"target":         "a name as snapgauge specs lists it",
	"spec_revision":  "a name as snapgauge specs lists it",
	"setup":          "a name as snapgauge list shows it",
}

// lastName is the last field of a path, without an index.
func lastName(path string) string {
	path = path[strings.LastIndexByte(path, '.')+1:]
	name, _, _ := strings.Cut(path, "[")
	return name
}

func prefix(field, text string) string {
	if field == "" {
		return text
	}
	return field + ": " + text
}

// withoutIndex is the path of a list for that of one of its entries.
func withoutIndex(path string) string {
	base, _, _ := strings.Cut(path, "[")
	return base
}

// flagOf names the part of the command line that a request's field comes from.
// Where the contract fixes a unit, its bounds are told in it.
func flagOf(field string) string {
	field = strings.TrimPrefix(field, "plan.")
	if input, ok := strings.CutPrefix(field, "inputs["); ok {
		if name, err := strconv.Unquote(strings.TrimSuffix(input, "]")); err == nil {
			return layout.Clean(name)
		}
	}
	base := withoutIndex(field)
	switch base {
	case "as_of_time":
		return "--as-of"
	case "known_time":
		return "--known"
	case "resume_token":
		return "--from"
	case "options":
		return "--option"
	case "model_year":
		return "--year"
	case "market", "filter", "vin", "phase", "paper", "setup", "etag", "reason":
		return "--" + base
	case "request_id":
		return "--request-id"
	case "max_results":
		return "-n"
	case "rider.mass_kg", "rider.gear_mass_kg":
		return "--rider (in kg)"
	case "ambient.temperature_c":
		return "--temperature (in °C)"
	case "ambient.altitude_m":
		return "--altitude (in m)"
	case "ambient.humidity_percent":
		return "--humidity (in %)"
	case "intended_use":
		return "--use"
	case "model", "words", "formula":
		return strings.ToUpper(base)
	case "name", "parent", "base", "target", "spec_revision":
		return ""
	}
	return layout.Clean(field)
}

// info is the reason that an error carries, or nil.
func info(s *status.Status) *errdetails.ErrorInfo {
	for _, detail := range s.Details() {
		if info, ok := detail.(*errdetails.ErrorInfo); ok {
			return info
		}
	}
	return nil
}

// blamed are the fields of a document that the reason of an error speaks of.
var blamed = map[string][]string{
	"SPEC_NOT_FOUND":        {"unit.model"},
	"NO_REVISION_IN_FORCE":  {"finish_time"},
	"SUPERSEDES_NOT_STORED": {"supersedes"},
	"ALREADY_SUPERSEDED":    {"supersedes"},
	"REVISION_NUMBER":       {"sheet.revision", "derived.head.revision", "derived.base_revision"},
	"EFFECTIVE_TIME":        {"sheet.effective_time", "derived.head.effective_time"},
	"BASE_NOT_FOUND":        {"derived.base_spec_id"},
}

// blamedAt begins a message about the field that an error names, else about that
// which its reason speaks of.
func blamedAt(s *status.Status, p place) string {
	if of, field, _, ok := p.document(info(s).GetMetadata()["field"]); ok {
		return of.at(field)
	}
	return p.at(blame(s, p))
}

// blame is the first of the blamed fields that the document has, else where one
// should be. An unknown reason blames none.
func blame(s *status.Status, p place) string {
	fields := blamed[info(s).GetReason()]
	for _, field := range fields {
		if _, _, ok := p.lines.Line(field); ok {
			return field
		}
	}
	if len(fields) > 0 {
		return fields[0]
	}
	return "" // the whole document: its beginning
}

// suggestions offers the names near the one that was not found, where the
// message does not.
func suggestions(s *status.Status, message string) string {
	names := info(s).GetMetadata()["suggestions"]
	first, _, _ := strings.Cut(names, "\n")
	if first == "" || strings.Contains(message, first) {
		return ""
	}
	return layout.Clean("; did you mean " + strings.ReplaceAll(names, "\n", ", ") + "?")
}

// asFailure returns err as the failure that it is; anything else is a fault of
// this program and told as it stands.
func asFailure(err error) *failure {
	var f *failure
	if errors.As(err, &f) {
		return f
	}
	return badInput(layout.Clean(err.Error()))
}

package main

import (
	"context"
	"errors"
	"fmt"
	"strconv"
	"strings"

	"google.golang.org/genproto/googleapis/rpc/errdetails"
	"google.golang.org/grpc/codes"
	"google.golang.org/grpc/status"

	"github.com/snapgauge/snapgauge/clients/snapgauge/internal/layout"
)

// explain turns the error of a call into lines for a person: faults of the
// record with their place in the file, faults of a flag with its name.
func explain(ctx context.Context, err error, c *client, p place) *failure {
	s := status.Convert(err)
	fail := func(code exitCode, format string, args ...any) *failure {
		return &failure{code: code, lines: []string{p.about() + fmt.Sprintf(format, args...)}}
	}
	if ctx.Err() != nil {
		return &failure{code: exitInterrupted, lines: []string{"snapgauge: interrupted"}}
	}
	message := layout.Clean(s.Message())
	switch s.Code() {
	case codes.Unavailable:
		return fail(exitServer, "no snapgauge server answers at %s%s", c.address, unreachable(s.Message()))
	case codes.DeadlineExceeded:
		return fail(exitServer, "the server at %s did not answer within %s", c.address, c.timeout)
	case codes.InvalidArgument:
		return faults(s, message, p)
	case codes.NotFound, codes.FailedPrecondition, codes.AlreadyExists, codes.OutOfRange:
		return &failure{code: exitInput, lines: []string{p.at(blame(s)) + message + suggestions(s, message)}}
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
		{"handshake", ": something else listens there"},
		{"frame", ": something else listens there"},
	} {
		if strings.Contains(transport, known.transport) {
			return known.person
		}
	}
	return ""
}

// faults lists the field violations of a request, each with its place.
func faults(s *status.Status, message string, p place) *failure {
	f := &failure{code: exitInput}
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
			field, inRecord := recordField(v.GetField())
			if !inRecord {
				f.lines = append(f.lines, "snapgauge: "+prefix(flagOf(field), description))
				continue
			}
			f.lines = append(f.lines, p.at(field)+prefix(layout.Clean(field), description))
		}
	}
	if len(f.lines) == 0 {
		f.lines = []string{p.about() + message}
	}
	return f
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

// recordField takes the record off the path of a request's field.
func recordField(path string) (field string, inRecord bool) {
	if path == "record" {
		return "", true
	}
	if field, ok := strings.CutPrefix(path, "record."); ok {
		return field, true
	}
	return path, false
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
	base, _, _ := strings.Cut(field, "[")
	switch base {
	case "as_of_time":
		return "--as-of"
	case "options":
		return "--option"
	case "model_year":
		return "--year"
	case "market", "filter", "vin", "phase", "paper", "setup":
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
	case "name", "parent":
		return ""
	}
	return layout.Clean(field)
}

// blame is the field of the record that an error's reason speaks of. An unknown
// reason blames none.
func blame(s *status.Status) string {
	for _, detail := range s.Details() {
		if info, ok := detail.(*errdetails.ErrorInfo); ok {
			switch info.GetReason() {
			case "SPEC_NOT_FOUND":
				return "unit.model"
			case "NO_REVISION_IN_FORCE":
				return "finish_time"
			case "SUPERSEDES_NOT_STORED", "ALREADY_SUPERSEDED":
				return "supersedes"
			}
		}
	}
	return "" // the whole document: its beginning
}

// suggestions offers the names near the one that was not found, where the
// message does not.
func suggestions(s *status.Status, message string) string {
	for _, detail := range s.Details() {
		info, ok := detail.(*errdetails.ErrorInfo)
		if !ok || info.GetMetadata()["suggestions"] == "" {
			continue
		}
		names := strings.Split(info.GetMetadata()["suggestions"], "\n")
		if !strings.Contains(message, names[0]) {
			return layout.Clean("; did you mean " + strings.Join(names, ", ") + "?")
		}
	}
	return ""
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

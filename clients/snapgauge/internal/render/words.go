package render

import (
	"strconv"
	"strings"

	"github.com/snapgauge/snapgauge/clients/snapgauge/internal/layout"
	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
	"github.com/snapgauge/snapgauge/service/phrase"
)

// conditions says several conditions: "engine cold, on work stand".
func conditions(all []pb.Condition) string {
	said := make([]string, len(all))
	for i, c := range all {
		said[i] = phrase.Words(c)
	}
	return strings.Join(said, ", ")
}

// phases says several phases: "pre-delivery, handover".
func phases(all []pb.Phase) string {
	said := make([]string, len(all))
	for i, p := range all {
		said[i] = phrase.Phase(p)
	}
	return strings.Join(said, ", ")
}

func verdictStyle(v pb.Verdict) layout.Style {
	switch v {
	case pb.Verdict_VERDICT_ACCEPT:
		return layout.Green
	case pb.Verdict_VERDICT_REJECT:
		return layout.Red
	}
	return layout.Yellow
}

func severityStyle(s pb.Severity) layout.Style {
	switch s {
	case pb.Severity_SEVERITY_SAFETY:
		return layout.Red
	case pb.Severity_SEVERITY_DAMAGE:
		return layout.Orange
	case pb.Severity_SEVERITY_FUNCTION:
		return layout.Yellow
	}
	return layout.Blue
}

// lastPart is what follows the last slash of a resource name.
func lastPart(name string) string { return name[strings.LastIndexByte(name, '/')+1:] }

// revisionNumber takes {revision} out of specs/{spec}/revisions/{revision}.
func revisionNumber(name string) string {
	if _, n, ok := strings.Cut(name, "/revisions/"); ok {
		return n
	}
	return ""
}

// join puts what is not empty side by side.
func join(separator string, parts ...string) string {
	var said []string
	for _, p := range parts {
		if p != "" {
			said = append(said, p)
		}
	}
	return strings.Join(said, separator)
}

// prefixed puts something before what is not empty.
func prefixed(prefix, s string) string {
	if s == "" {
		return ""
	}
	return prefix + s
}

// counted says a number of things: "1 unit", "2 units".
func counted(n int, thing string) string {
	if n == 1 {
		return "1 " + thing
	}
	return strconv.Itoa(n) + " " + thing + "s"
}

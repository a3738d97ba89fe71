package main

import (
	"fmt"
	"regexp"
	"strconv"

	"github.com/snapgauge/snapgauge/clients/snapgauge/internal/layout"
)

// specRef is a sheet as it is named on the command line.
type specRef struct {
	spec     string // identifier of the spec
	revision int32  // nought means none in particular
}

// specTyped is SPEC, SPEC@N, or a resource name of the API.
var specTyped = regexp.MustCompile(`^(?:specs/)?([a-z0-9-]{1,63})(?:(?:@|/revisions/)([1-9][0-9]{0,5}))?$`)

// parseSpec reads what was typed for a sheet. The error is a *failure.
func parseSpec(typed string) (specRef, error) {
	m := specTyped.FindStringSubmatch(typed)
	if m == nil {
		return specRef{}, usage("got %q, want SPEC as snapgauge specs lists it, or SPEC@N for its revision N", layout.Clean(typed))
	}
	n, _ := strconv.ParseInt(m[2], 10, 32) // nought where there is none; the pattern bounds it
	return specRef{spec: m[1], revision: int32(n)}, nil
}

// parseRevision is [parseSpec] where a revision must be named.
func parseRevision(typed string) (specRef, error) {
	ref, err := parseSpec(typed)
	if err == nil && ref.revision == 0 {
		err = usage("got %q, want a revision: %s@N", typed, ref.spec)
	}
	return ref, err
}

// parent is the resource name of the spec.
func (r specRef) parent() string { return "specs/" + r.spec }

// name is the resource name of the revision, or of the spec where there is none.
func (r specRef) name() string {
	if r.revision == 0 {
		return r.parent()
	}
	return fmt.Sprintf("%s/revisions/%d", r.parent(), r.revision)
}

// String is how it is typed.
func (r specRef) String() string {
	if r.revision == 0 {
		return r.spec
	}
	return fmt.Sprintf("%s@%d", r.spec, r.revision)
}

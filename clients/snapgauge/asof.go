package main

import (
	"fmt"
	"time"

	"github.com/spf13/cobra"
	"google.golang.org/protobuf/types/known/timestamppb"
)

// asOf is a flag for an instant: a date, or a date with a time.
type asOf struct{ time *timestamppb.Timestamp }

func (v *asOf) Type() string { return "DATE|TIME" }

func (v *asOf) String() string {
	if v.time == nil {
		return ""
	}
	return v.time.AsTime().Format(time.RFC3339Nano)
}

func (v *asOf) Set(s string) error {
	t, err := time.Parse(time.DateOnly, s)
	if err != nil {
		t, err = time.Parse(time.RFC3339, s)
	}
	if err != nil {
		return fmt.Errorf("got %q, want a date such as 2026-03-01 or a time such as 2026-03-01T09:20:00Z", s)
	}
	v.time = timestamppb.New(t)
	return nil
}

func addAsOf(cmd *cobra.Command, v *asOf, what string) {
	cmd.Flags().Var(v, "as-of", what+": a date (its beginning, UTC) or a time (RFC 3339)")
	must(cmd.RegisterFlagCompletionFunc("as-of", cobra.NoFileCompletions))
}

// addKnown adds the other clock: not what held on a day, but what was known of it.
func addKnown(cmd *cobra.Command, v *asOf) {
	cmd.Flags().Var(v, "known", "by what was known then: revisions published or withdrawn later do not count; a date or a time, as for --as-of")
	must(cmd.RegisterFlagCompletionFunc("known", cobra.NoFileCompletions))
}

package server

import (
	"fmt"
	"strings"
	"testing"

	"google.golang.org/genproto/googleapis/rpc/errdetails"
	"google.golang.org/grpc/codes"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
)

func TestCheckOptions(t *testing.T) {
	b := newBench(t)
	b.publish(t, tarnSheet(t, 1, func(s *pb.SpecSheet) {
		s.Options = append(s.Options,
			&pb.Option{Id: "open_pipe", DisplayName: "Open pipe", OffHighwayOnly: true, EmissionsRelated: true,
				Caution: "It is loud.", Source: "Invented"},
			&pb.Option{Id: "wide_pegs", DisplayName: "Wide pegs", Caution: "They fold less.", Source: "Invented"})
	}))
	for _, tc := range []struct {
		name     string
		options  []string
		troubles []string // the options of each
		cautions []string
	}{
		{name: rill},
		{name: rill + "/revisions/2", options: []string{"heated_guards", "hand_guards"}},
		{name: rill, options: []string{"heated_guards"}, troubles: []string{"[heated_guards]"}},
		{name: rill, options: []string{"hand_guards", "bar_muffs", "heated_guards"}, troubles: []string{"[heated_guards bar_muffs]"}},
		{name: rill, options: []string{"wings"}, troubles: []string{"[wings]"}},
		{name: tarn, options: []string{"wide_pegs", "open_pipe", "hand_guards"}, cautions: []string{
			"Open pipe: For off-highway use only. Touches emissions or noise. It is loud.", "Wide pegs: They fold less.",
		}},
	} {
		resp, err := b.specs.CheckOptions(t.Context(), &pb.CheckOptionsRequest{Name: "specs/" + tc.name, Options: tc.options})
		if err != nil {
			t.Fatal(err)
		}
		var got []string
		for _, trouble := range resp.GetTroubles() {
			got = append(got, fmt.Sprint(trouble.GetOptions()))
			if trouble.GetMessage() == "" || len(trouble.GetMends()) == 0 {
				t.Errorf("%v: got %v, want a reason and a mend", tc.options, trouble)
			}
		}
		if fmt.Sprint(got) != fmt.Sprint(tc.troubles) {
			t.Errorf("%v: got troubles of %v, want %v", tc.options, got, tc.troubles)
		}
		if fmt.Sprint(resp.GetCautions()) != fmt.Sprint(tc.cautions) {
			t.Errorf("%v: got cautions %q, want %q", tc.options, resp.GetCautions(), tc.cautions)
		}
	}
}

func TestCheckOptionsRefused(t *testing.T) {
	b := newBench(t)
	for name, tc := range map[string]struct {
		req           *pb.CheckOptionsRequest
		code          codes.Code
		reason, field string
	}{
		"nothing":     {&pb.CheckOptionsRequest{}, codes.InvalidArgument, "required", "name"},
		"by shape":    {&pb.CheckOptionsRequest{Name: "Rill"}, codes.InvalidArgument, "string.pattern", "name"},
		"option":      {&pb.CheckOptionsRequest{Name: "specs/" + rill, Options: []string{"Wings"}}, codes.InvalidArgument, "string.pattern", "options[0]"},
		"twice":       {&pb.CheckOptionsRequest{Name: "specs/" + rill, Options: []string{"a", "a"}}, codes.InvalidArgument, "repeated.unique", "options"},
		"no spec":     {&pb.CheckOptionsRequest{Name: "specs/none"}, codes.NotFound, reasonSpecNotFound, ""},
		"no revision": {&pb.CheckOptionsRequest{Name: "specs/" + rill + "/revisions/7"}, codes.NotFound, reasonSpecNotFound, ""},
		"not yet":     {&pb.CheckOptionsRequest{Name: "specs/brook-250-2027-eu"}, codes.FailedPrecondition, reasonNoRevisionInForce, ""},
	} {
		t.Run(name, func(t *testing.T) {
			_, err := b.specs.CheckOptions(t.Context(), tc.req)
			wantStatus(t, err, tc.code, tc.reason, tc.field)
		})
	}
}

// Options that are refused are told why, and what mends it.
func TestOptionViolationsSayHowToMend(t *testing.T) {
	b := newBench(t)
	for _, tc := range []struct {
		options []string
		said    []string
	}{
		{[]string{"heated_guards"}, []string{"Heated hand guards requires Hand guards, which is not fitted.", "Fit"}},
		{[]string{"hand_guards", "heated_guards", "bar_muffs"}, []string{"exclude each other", "Take off"}},
		{[]string{"hand_guard"}, []string{"hand_guards"}},
	} {
		_, err := b.specs.GetSpec(t.Context(), &pb.GetSpecRequest{Name: "specs/" + rill, Options: tc.options})
		text := ""
		for _, d := range detailsOf(err) {
			for _, v := range d.(*errdetails.BadRequest).GetFieldViolations() {
				text += v.GetDescription() + "\n"
			}
		}
		for _, want := range tc.said {
			if !strings.Contains(text, want) {
				t.Errorf("%v: got %q, want a word of %q", tc.options, text, want)
			}
		}
	}
}

// Of an option that lacks two others, each violation speaks of its own.
func TestOptionViolationsKeepApart(t *testing.T) {
	b := newBench(t, withSheets(nil))
	b.publish(t, tarnSheet(t, 1, func(s *pb.SpecSheet) {
		s.Options = append(s.Options, &pb.Option{Id: "tour_pack", DisplayName: "Tour pack", Requires: []string{"hand_guards", "bar_muffs"}, Source: "Invented"})
	}))
	_, err := b.specs.GetSpec(t.Context(), &pb.GetSpecRequest{Name: "specs/" + tarn, Options: []string{"tour_pack"}})
	var said []string
	for _, d := range detailsOf(err) {
		for _, v := range d.(*errdetails.BadRequest).GetFieldViolations() {
			said = append(said, v.GetDescription())
		}
	}
	if fmt.Sprint(said) != "[tour_pack requires hand_guards tour_pack requires bar_muffs]" {
		t.Errorf("got %q", said)
	}
}

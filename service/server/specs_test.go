package server

import (
	"fmt"
	"strings"
	"testing"
	"time"

	"google.golang.org/grpc/codes"
	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/types/known/timestamppb"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
	"github.com/snapgauge/snapgauge/service/catalogue"
	"github.com/snapgauge/snapgauge/service/store"
)

func ids(characteristics []*pb.Characteristic) string {
	var ids []string
	for _, c := range characteristics {
		ids = append(ids, c.GetId())
	}
	return strings.Join(ids, " ")
}

func TestGetSpec(t *testing.T) {
	b := newBench(t)
	const inOrder = "chain_slack rear_axle_nut gearbox_oil_fill stop_switch front_sprocket"
	for name, tc := range map[string]struct {
		req      *pb.GetSpecRequest
		revision int32
		ids      string
	}{
		"in force now": {&pb.GetSpecRequest{Name: "specs/rill-125-2026-eu"}, 1, inOrder},
		"in force later": {&pb.GetSpecRequest{
			Name:     "specs/rill-125-2026-eu",
			AsOfTime: timestamppb.New(time.Date(2026, 6, 1, 0, 0, 0, 0, time.UTC)),
		}, 2, inOrder},
		"one revision": {&pb.GetSpecRequest{Name: "specs/rill-125-2026-eu/revisions/2"}, 2, inOrder},
		"options": {&pb.GetSpecRequest{
			Name:    "specs/rill-125-2026-eu",
			Options: []string{"heated_guards", "hand_guards"},
		}, 1, inOrder + " hand_guard_screws"},
	} {
		t.Run(name, func(t *testing.T) {
			resp, err := b.specs.GetSpec(t.Context(), tc.req)
			if err != nil {
				t.Fatal(err)
			}
			if got := resp.GetSpecRevision(); got.GetRevision() != tc.revision || len(got.GetDigest()) != 64 {
				t.Errorf("got revision %v, want number %d", got, tc.revision)
			}
			if got := ids(resp.GetSheet().GetCharacteristics()); got != tc.ids {
				t.Errorf("got %s, want %s", got, tc.ids)
			}
			revision := b.revision(t, "rill-125-2026-eu", int(tc.revision))
			want := proto.CloneOf(revision.Sheet())
			want.Characteristics = resp.GetSheet().GetCharacteristics()
			if !proto.Equal(resp.GetSheet(), want) {
				t.Error("the rest of the sheet changed")
			}
		})
	}
}

// The sheet in the library is as it was after every kind of answer.
func TestSpecAnswersLeaveTheLibraryAlone(t *testing.T) {
	b := newBench(t)
	revision := b.revision(t, "rill-125-2026-eu", 1)
	before := proto.CloneOf(revision.Sheet())
	for _, options := range [][]string{nil, {"hand_guards"}} {
		if _, err := b.specs.GetSpec(t.Context(), &pb.GetSpecRequest{Name: revision.Name(), Options: options}); err != nil {
			t.Fatal(err)
		}
	}
	if !proto.Equal(before, revision.Sheet()) {
		t.Error("the sheet was modified")
	}
}

func TestSpecsRefused(t *testing.T) {
	b := newBench(t)
	early := timestamppb.New(time.Date(2020, 1, 1, 0, 0, 0, 0, time.UTC))
	page, err := b.specs.ListSpecs(t.Context(), &pb.ListSpecsRequest{PageSize: 1})
	if err != nil {
		t.Fatal(err)
	}
	get := func(req *pb.GetSpecRequest) func() error {
		return func() error { _, err := b.specs.GetSpec(t.Context(), req); return err }
	}
	list := func(req *pb.ListSpecsRequest) func() error {
		return func() error { _, err := b.specs.ListSpecs(t.Context(), req); return err }
	}
	revisions := func(req *pb.ListSpecRevisionsRequest) func() error {
		return func() error { _, err := b.specs.ListSpecRevisions(t.Context(), req); return err }
	}
	look := func(req *pb.LookUpCharacteristicsRequest) func() error {
		return func() error { _, err := b.specs.LookUpCharacteristics(t.Context(), req); return err }
	}
	const rill = "specs/rill-125-2026-eu"
	for name, tc := range map[string]struct {
		call          func() error
		code          codes.Code
		reason, field string
	}{
		"get without name":      {get(&pb.GetSpecRequest{}), codes.InvalidArgument, "required", "name"},
		"get by shape":          {get(&pb.GetSpecRequest{Name: "Rill"}), codes.InvalidArgument, "string.pattern", "name"},
		"get unknown":           {get(&pb.GetSpecRequest{Name: "specs/rill-152-2026-eu"}), codes.NotFound, reasonSpecNotFound, ""},
		"get unknown revision":  {get(&pb.GetSpecRequest{Name: rill + "/revisions/9"}), codes.NotFound, reasonSpecNotFound, ""},
		"get before its time":   {get(&pb.GetSpecRequest{Name: rill, AsOfTime: early}), codes.FailedPrecondition, reasonNoRevisionInForce, ""},
		"get not yet":           {get(&pb.GetSpecRequest{Name: "specs/brook-250-2027-eu"}), codes.FailedPrecondition, reasonNoRevisionInForce, ""},
		"get revision and time": {get(&pb.GetSpecRequest{Name: rill + "/revisions/1", AsOfTime: early}), codes.InvalidArgument, reasonNotWithRevision, "as_of_time"},
		"get time that is none": {get(&pb.GetSpecRequest{Name: rill, AsOfTime: &timestamppb.Timestamp{Nanos: -1}}), codes.InvalidArgument, reasonTimeInvalid, "as_of_time"},
		"get unknown option":    {get(&pb.GetSpecRequest{Name: rill, Options: []string{"hand_guards", "wings"}}), codes.InvalidArgument, reasonOptionUnknown, "options[1]"},
		"get option alone":      {get(&pb.GetSpecRequest{Name: rill, Options: []string{"heated_guards"}}), codes.InvalidArgument, reasonOptionRequires, "options[0]"},
		"get options at odds": {get(&pb.GetSpecRequest{Name: rill, Options: []string{"bar_muffs", "hand_guards", "heated_guards"}}),
			codes.InvalidArgument, reasonOptionConflict, "options[2]"},

		"list page size":    {list(&pb.ListSpecsRequest{PageSize: -1}), codes.InvalidArgument, "int32.gte_lte", "page_size"},
		"list token":        {list(&pb.ListSpecsRequest{PageToken: "zzz"}), codes.InvalidArgument, reasonPageTokenInvalid, "page_token"},
		"list other filter": {list(&pb.ListSpecsRequest{PageToken: page.GetNextPageToken(), Filter: "market = EU"}), codes.InvalidArgument, reasonPageTokenInvalid, "page_token"},
		"list filter":       {list(&pb.ListSpecsRequest{Filter: "market ="}), codes.InvalidArgument, reasonFilterInvalid, "filter"},

		"revisions of none":     {revisions(&pb.ListSpecRevisionsRequest{Parent: "specs/none"}), codes.NotFound, reasonSpecNotFound, ""},
		"revisions by shape":    {revisions(&pb.ListSpecRevisionsRequest{Parent: "none"}), codes.InvalidArgument, "string.pattern", "parent"},
		"revisions token":       {revisions(&pb.ListSpecRevisionsRequest{Parent: rill, PageToken: "1AAAA"}), codes.InvalidArgument, reasonPageTokenInvalid, "page_token"},
		"revisions other token": {revisions(&pb.ListSpecRevisionsRequest{Parent: rill, PageToken: page.GetNextPageToken()}), codes.InvalidArgument, reasonPageTokenInvalid, "page_token"},

		"look without words":   {look(&pb.LookUpCharacteristicsRequest{Model: "Rill"}), codes.InvalidArgument, "required", "words"},
		"look at no model":     {look(&pb.LookUpCharacteristicsRequest{Model: "zzzzzzzzzz", Words: "oil"}), codes.NotFound, reasonSpecNotFound, ""},
		"look before its time": {look(&pb.LookUpCharacteristicsRequest{Model: "Rill", Words: "oil", AsOfTime: early}), codes.FailedPrecondition, reasonNoRevisionInForce, ""},
		"look by market shape": {look(&pb.LookUpCharacteristicsRequest{Model: "Rill", Words: "oil", Market: "eu"}), codes.InvalidArgument, "string.pattern", "market"},
	} {
		t.Run(name, func(t *testing.T) { wantStatus(t, tc.call(), tc.code, tc.reason, tc.field) })
	}
}

func TestListSpecs(t *testing.T) {
	b := newBench(t)
	for _, tc := range []struct{ filter, want string }{
		{"", "brook-250-2027-eu rill-125-2026-eu rill-125-2026-jp rill-125-2026-nz"},
		{`market = "EU"`, "brook-250-2027-eu rill-125-2026-eu"},
		{`market != EU`, "rill-125-2026-jp rill-125-2026-nz"},
		{`make = "Quillback" AND NOT market = "EU"`, "rill-125-2026-jp rill-125-2026-nz"},
		{`model = "Rill*" AND (market = "NZ" OR market = "EU")`, "rill-125-2026-eu rill-125-2026-nz"},
		{`model != "Rill*"`, "brook-250-2027-eu"},
		{`model_year = 2027`, "brook-250-2027-eu"},
		{`model_year != 2027 market = NZ`, "rill-125-2026-nz"},
		{`model_year < 2027`, "rill-125-2026-eu rill-125-2026-jp rill-125-2026-nz"},
		{`model_year <= 2026 AND market = JP`, "rill-125-2026-jp"},
		{`model_year > 2026`, "brook-250-2027-eu"},
		{`model_year >= 2028`, ""},
	} {
		for _, size := range []int32{0, 1, 2, 4} {
			req := &pb.ListSpecsRequest{Filter: tc.filter, PageSize: size}
			var got []string
			for {
				resp, err := b.specs.ListSpecs(t.Context(), req)
				if err != nil {
					t.Fatalf("%s: %v", tc.filter, err)
				}
				if size > 0 && len(resp.GetSpecs()) > int(size) {
					t.Errorf("%s: got %d specs, want %d", tc.filter, len(resp.GetSpecs()), size)
				}
				for _, s := range resp.GetSpecs() {
					got = append(got, strings.TrimPrefix(s.GetName(), "specs/"))
				}
				if req.PageToken = resp.GetNextPageToken(); req.PageToken == "" {
					break
				}
			}
			if strings.Join(got, " ") != tc.want {
				t.Errorf("%s in pages of %d: got %v, want %s", tc.filter, size, got, tc.want)
			}
		}
	}
	resp, err := b.specs.ListSpecs(t.Context(), &pb.ListSpecsRequest{Filter: `market = EU AND model_year = 2026`})
	if err != nil {
		t.Fatal(err)
	}
	got := resp.GetSpecs()[0]
	if got.GetMake() != "Quillback" || got.GetModel() != "Rill 125" || !got.GetInvented() ||
		got.GetDescription() == "" || fmt.Sprint(got.GetModelAliases()) != "[Rill]" ||
		got.GetLatestRevision().GetName() != "specs/rill-125-2026-eu/revisions/2" ||
		got.GetLatestRevision().GetCharacteristicCount() != 5 {
		t.Errorf("got %v", got)
	}
}

func TestSpecFilterRefused(t *testing.T) {
	for _, filter := range []string{
		"make", "EU", `"EU"`, "market =", "= 1", "market : EU", "market > EU", `market = "*"`, `model = "*ll"`,
		"colour = red", "a.b = 1", "model_year = x", `model_year = "2026"`, "model_year = 2026.5", "model_year = 2026*",
		"(market = EU", "market = EU)", "NOT", "AND", "market = EU AND", "f(1)", `market = f("EU")`, "market = 5", "\x00", "'",
		strings.Repeat("(", 17) + "market = EU" + strings.Repeat(")", 17), strings.Repeat("(", 1024), strings.Repeat("-", 1024),
	} {
		start := time.Now()
		if e, err := parseFilter(specFilters, "filter", filter); err == nil {
			t.Errorf("%.40q: got %v, want an error", filter, e)
		} else if took := time.Since(start); took > time.Second {
			t.Errorf("%.40q: took %v", filter, took)
		}
	}
}

// What is wrong is told in the words of this list, not in those of another.
func TestSpecFilterSays(t *testing.T) {
	for filter, want := range map[string]string{
		"market =":                      `conditions such as market = "EU", joined by`,
		"EU":                            `got "EU", wanted a condition such as market = "EU"`,
		`market = EU AND shop = "west"`: `character 17: got field "shop", wanted one of make, market, model, model_year`,
	} {
		if _, err := parseFilter(specFilters, "filter", filter); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%s: got %v, want ...%s...", filter, err, want)
		}
	}
}

// Whatever the filter, there is an answer, soon.
func FuzzSpecFilter(f *testing.F) {
	for _, seed := range []string{`market = "EU" AND NOT (model_year > 2026 OR make = "Qu*")`, "((((", `a:"b"`, "NOT -a = 1", "a b c", "' '"} {
		f.Add(seed)
	}
	f.Fuzz(func(t *testing.T, text string) {
		if len(text) > 1024 {
			return
		}
		start := time.Now()
		chosen, err := parseFilter(specFilters, "filter", text)
		if err == nil {
			specFields.Match(chosen, &catalogue.Head{PublishedSpec: store.PublishedSpec{Market: "EU"}})
		}
		if took := time.Since(start); took > 2*time.Second {
			t.Errorf("took %v", took)
		}
	})
}

func TestListSpecRevisions(t *testing.T) {
	b := newBench(t)
	for _, size := range []int32{0, 1, 2} {
		req := &pb.ListSpecRevisionsRequest{Parent: "specs/rill-125-2026-eu", PageSize: size}
		var got []int32
		for {
			resp, err := b.specs.ListSpecRevisions(t.Context(), req)
			if err != nil {
				t.Fatal(err)
			}
			for _, r := range resp.GetSpecRevisions() {
				got = append(got, r.GetRevision())
			}
			if req.PageToken = resp.GetNextPageToken(); req.PageToken == "" {
				break
			}
		}
		if fmt.Sprint(got) != "[2 1]" {
			t.Errorf("pages of %d: got %v, want newest first", size, got)
		}
	}
}

func TestLookUpCharacteristics(t *testing.T) {
	b := newBench(t)
	for name, tc := range map[string]struct {
		req         *pb.LookUpCharacteristicsRequest
		first, spec string
		revision    int32
	}{
		"words":   {&pb.LookUpCharacteristicsRequest{Model: "rill", Words: "rear axle nut"}, "rear_axle_nut", "specs/rill-125-2026-eu", 1},
		"synonym": {&pb.LookUpCharacteristicsRequest{Model: "rill", Words: "transmission oil"}, "gearbox_oil_fill", "specs/rill-125-2026-eu", 1},
		"typing":  {&pb.LookUpCharacteristicsRequest{Model: "rill", Words: "chian slakc"}, "chain_slack", "specs/rill-125-2026-eu", 1},
		"market":  {&pb.LookUpCharacteristicsRequest{Model: "rill", Market: "NZ", Words: "chain slack"}, "chain_slack", "specs/rill-125-2026-nz", 1},
		"later": {&pb.LookUpCharacteristicsRequest{
			Model: "rill", Words: "chain slack", AsOfTime: timestamppb.New(time.Date(2026, 6, 1, 0, 0, 0, 0, time.UTC)),
		}, "chain_slack", "specs/rill-125-2026-eu", 2},
		"option": {&pb.LookUpCharacteristicsRequest{Model: "rill", Words: "guard screws", Options: []string{"hand_guards"}}, "hand_guard_screws", "specs/rill-125-2026-eu", 1},
		"by id":  {&pb.LookUpCharacteristicsRequest{Model: "rill-125-2026-jp", Words: "oil", MaxResults: 1}, "gearbox_oil_fill", "specs/rill-125-2026-jp", 1},
	} {
		t.Run(name, func(t *testing.T) {
			resp, err := b.specs.LookUpCharacteristics(t.Context(), tc.req)
			if err != nil {
				t.Fatal(err)
			}
			if resp.GetSpec().GetName() != tc.spec || resp.GetSpecRevision().GetRevision() != tc.revision {
				t.Errorf("got %s revision %d, want %s revision %d",
					resp.GetSpec().GetName(), resp.GetSpecRevision().GetRevision(), tc.spec, tc.revision)
			}
			if len(resp.GetMatches()) == 0 || resp.GetMatches()[0].GetCharacteristic().GetId() != tc.first {
				t.Fatalf("got %v, want %s first", resp.GetMatches(), tc.first)
			}
			if score := resp.GetMatches()[0].GetScore(); score <= 0 || score > 1 {
				t.Errorf("got score %v", score)
			}
		})
	}
	resp, err := b.specs.LookUpCharacteristics(t.Context(), &pb.LookUpCharacteristicsRequest{Model: "rill", Words: "zzzzzzzz"})
	if err != nil || len(resp.GetMatches()) != 0 {
		t.Errorf("got %v and %v, want no match and no error", resp, err)
	}
}

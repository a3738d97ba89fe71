package server

import (
	"fmt"
	"math/rand/v2"
	"slices"
	"testing"
	"time"

	"github.com/google/uuid"
	"google.golang.org/grpc/codes"
	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/types/known/timestamppb"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
)

// affected gathers all pages.
func (b *bench) affected(t testing.TB, req *pb.ListAffectedSetupsRequest) (all []*pb.AffectedSetup, judged int) {
	t.Helper()
	req = proto.CloneOf(req)
	for {
		resp, err := b.setups.ListAffectedSetups(t.Context(), req)
		if err != nil {
			t.Fatal(err)
		}
		if size := int(req.GetPageSize()); size > 0 && int(resp.GetJudgedCount()) > size {
			t.Errorf("got %d judged for one page, want at most %d", resp.GetJudgedCount(), size)
		}
		all = append(all, resp.GetAffected()...)
		judged += int(resp.GetJudgedCount())
		if req.PageToken = resp.GetNextPageToken(); req.PageToken == "" {
			return all, judged
		}
	}
}

func withSlack(mm float64) func(*pb.SetupRecord) {
	return func(r *pb.SetupRecord) { r.Readings[0].Result = &pb.Reading_Value{Value: mm} }
}

func codesOf(findings []*pb.Finding) string {
	var said []string
	for _, f := range findings {
		said = append(said, f.GetCode().String()[len("FINDING_CODE_"):]+" "+f.GetCharacteristic())
	}
	return fmt.Sprint(said)
}

// Revision 2 wants 40 to 50 mm of slack where revision 1 wanted 35 to 45.
func TestListAffectedSetups(t *testing.T) {
	b := newBench(t)
	tight := b.submit(t, with(withSlack(36))) // right then, too little now
	b.submit(t, with(withSlack(42)))          // right by both
	loose := b.submit(t, with(withSlack(48))) // wrong then, right now
	worse := b.submit(t, with(withSlack(20))) // wrong by both: the same finding, another limit
	b.submit(t, with(func(r *pb.SetupRecord) { r.Unit.Market = "NZ"; withSlack(36)(r) }))
	corrected := b.submit(t, with(func(r *pb.SetupRecord) { r.Supersedes = tight.GetName(); withSlack(41)(r) }))

	req := &pb.ListAffectedSetupsRequest{SpecRevision: "specs/" + rill + "/revisions/2"}
	for _, size := range []int32{0, 1, 2, 5} {
		req.PageSize = size
		got, judged := b.affected(t, req)
		if judged != 5 {
			t.Errorf("pages of %d: got %d judged, want those of the spec: 5", size, judged)
		}
		if len(got) != 2 || got[0].GetName() != loose.GetName() || got[1].GetName() != tight.GetName() {
			t.Fatalf("pages of %d: got %v, want %s and %s, not %s", size, got, loose.GetName(), tight.GetName(), worse.GetName())
		}
		if a := got[0]; a.GetVerdictThen() != pb.Verdict_VERDICT_REJECT || a.GetVerdictNow() != pb.Verdict_VERDICT_ACCEPT ||
			len(a.GetNewFindings()) != 0 || codesOf(a.GetGoneFindings()) != "[ABOVE_UPPER_LIMIT chain_slack]" || a.GetSupersededBy() != "" {
			t.Errorf("got %v, want it accepted now", a)
		}
		a := got[1]
		if a.GetVerdictThen() != pb.Verdict_VERDICT_ACCEPT || a.GetVerdictNow() != pb.Verdict_VERDICT_REJECT ||
			codesOf(a.GetNewFindings()) != "[BELOW_LOWER_LIMIT chain_slack]" || len(a.GetGoneFindings()) != 0 {
			t.Errorf("got %v, want it rejected now", a)
		}
		if a.GetSupersededBy() != corrected.GetName() || a.GetShop() != "north" || a.GetPhase() != pb.Phase_PHASE_PRE_DELIVERY ||
			!proto.Equal(a.GetUnit(), tight.GetRecord().GetUnit()) {
			t.Errorf("got %v, want whose it is and what corrects it", a)
		}
		if f := a.GetNewFindings()[0]; f.GetMessage() == "" || f.GetRemedy().GetText() == "" || f.GetSpecRevision() != req.GetSpecRevision() {
			t.Errorf("got %v, want the whole finding", f)
		}
	}
	req.Filter = `vin = "0VBRL0000T1000123" AND verdict = "REJECT"`
	if got, judged := b.affected(t, req); judged != 2 || len(got) != 1 || got[0].GetName() != loose.GetName() {
		t.Errorf("with a filter: got %v of %d", got, judged)
	}
	// By the revision that judged them nothing is otherwise; it may be withdrawn.
	if _, err := b.specs.WithdrawSpecRevision(t.Context(), &pb.WithdrawSpecRevisionRequest{Name: "specs/" + rill + "/revisions/1", Reason: "Wrong."}); err != nil {
		t.Fatal(err)
	}
	if got, judged := b.affected(t, &pb.ListAffectedSetupsRequest{SpecRevision: "specs/" + rill + "/revisions/1"}); judged != 5 || len(got) != 0 {
		t.Errorf("by the same revision: got %v of %d", got, judged)
	}
	us := req
	us.Filter, us.UnitSystem = "", pb.UnitSystem_UNIT_SYSTEM_US
	metric := proto.CloneOf(us)
	metric.UnitSystem = pb.UnitSystem_UNIT_SYSTEM_METRIC
	a, _ := b.affected(t, us)
	c, _ := b.affected(t, metric)
	if a[1].GetNewFindings()[0].GetMessage() == c[1].GetNewFindings()[0].GetMessage() {
		t.Error("got the same sentence in both systems of units")
	}
}

// A record that a revision cannot take has no verdict by it, and is told of.
func TestListAffectedSetupsThatCannotBeJudged(t *testing.T) {
	b := newBench(t)
	stored := b.submit(t, goodRecord())
	b.publish(t, rillSheet(t, func(s *pb.SpecSheet) {
		s.Revision, s.EffectiveTime = 3, timestamppb.New(time.Date(2026, 5, 1, 0, 0, 0, 0, time.UTC))
		c := characteristic(s, "gearbox_oil_fill")
		c.Kind = &pb.Characteristic_Measured{Measured: &pb.Measured{}}
		c.Limits = &pb.Limits{Lower: proto.Float64(20), Upper: proto.Float64(30), Unit: "mm"} // a level, not a volume
	}))
	got, _ := b.affected(t, &pb.ListAffectedSetupsRequest{SpecRevision: "specs/" + rill + "/revisions/3"})
	if len(got) != 1 || got[0].GetName() != stored.GetName() || got[0].GetVerdictNow() != pb.Verdict_VERDICT_UNSPECIFIED {
		t.Errorf("got %v, want %s without a verdict", got, stored.GetName())
	}
}

// Revisions and stored reports are compared one by one, whatever the pages.
func TestListAffectedSetupsAgainstEachByItself(t *testing.T) {
	b := newBench(t)
	random := rand.New(rand.NewPCG(1, 2))
	want := map[string]bool{}
	for i := range 60 {
		record := with(withSlack(30 + random.Float64()*25))
		record.Note = fmt.Sprint(i)
		if random.IntN(3) == 0 {
			record.Readings = record.Readings[:4]
		}
		then := b.submit(t, record)
		asked := proto.CloneOf(then.GetRecord())
		now, err := b.setups.ValidateSetup(t.Context(), &pb.ValidateSetupRequest{
			Record: asked, AsOfTime: timestamppb.New(time.Date(2026, 6, 1, 0, 0, 0, 0, time.UTC)),
		})
		if err != nil {
			t.Fatal(err)
		}
		if then.GetReport().GetVerdict() != now.GetReport().GetVerdict() ||
			codesOf(then.GetReport().GetFindings()) != codesOf(now.GetReport().GetFindings()) {
			want[then.GetName()] = true
		}
	}
	for _, size := range []int32{0, 7, 33} {
		got, judged := b.affected(t, &pb.ListAffectedSetupsRequest{SpecRevision: "specs/" + rill + "/revisions/2", PageSize: size})
		names := map[string]bool{}
		for _, a := range got {
			names[a.GetName()] = true
		}
		if judged != 60 || len(got) != len(names) || fmt.Sprint(names) != fmt.Sprint(want) {
			t.Errorf("pages of %d: got %d of %d, want %d", size, len(got), judged, len(want))
		}
	}
}

func TestListAffectedSetupsRefused(t *testing.T) {
	b := newBench(t)
	for range 3 {
		if _, err := b.setups.SubmitSetup(t.Context(), &pb.SubmitSetupRequest{Record: goodRecord(), RequestId: uuid.NewString()}); err != nil {
			t.Fatal(err)
		}
	}
	name := "specs/" + rill + "/revisions/2"
	page, err := b.setups.ListAffectedSetups(t.Context(), &pb.ListAffectedSetupsRequest{SpecRevision: name, PageSize: 1})
	if err != nil {
		t.Fatal(err)
	}
	token := page.GetNextPageToken()
	for label, tc := range map[string]struct {
		req           *pb.ListAffectedSetupsRequest
		code          codes.Code
		reason, field string
	}{
		"nothing":        {&pb.ListAffectedSetupsRequest{}, codes.InvalidArgument, "required", "spec_revision"},
		"a spec":         {&pb.ListAffectedSetupsRequest{SpecRevision: "specs/" + rill}, codes.InvalidArgument, "string.pattern", "spec_revision"},
		"no spec":        {&pb.ListAffectedSetupsRequest{SpecRevision: "specs/none/revisions/1"}, codes.NotFound, reasonSpecNotFound, ""},
		"no revision":    {&pb.ListAffectedSetupsRequest{SpecRevision: "specs/" + rill + "/revisions/9"}, codes.NotFound, reasonSpecNotFound, ""},
		"filter":         {&pb.ListAffectedSetupsRequest{SpecRevision: name, Filter: "shop ="}, codes.InvalidArgument, reasonFilterInvalid, "filter"},
		"page size":      {&pb.ListAffectedSetupsRequest{SpecRevision: name, PageSize: 1001}, codes.InvalidArgument, "int32.gte_lte", "page_size"},
		"token":          {&pb.ListAffectedSetupsRequest{SpecRevision: name, PageToken: "zzz"}, codes.InvalidArgument, reasonPageTokenInvalid, "page_token"},
		"other filter":   {&pb.ListAffectedSetupsRequest{SpecRevision: name, PageToken: token, Filter: "shop = north"}, codes.InvalidArgument, reasonPageTokenInvalid, "page_token"},
		"other revision": {&pb.ListAffectedSetupsRequest{SpecRevision: name[:len(name)-1] + "1", PageToken: token}, codes.InvalidArgument, reasonPageTokenInvalid, "page_token"},
	} {
		t.Run(label, func(t *testing.T) {
			_, err := b.setups.ListAffectedSetups(t.Context(), tc.req)
			wantStatus(t, err, tc.code, tc.reason, tc.field)
		})
	}
}

func TestCompareFindings(t *testing.T) {
	f := func(code int32, characteristic, rule, message string) *pb.Finding {
		return &pb.Finding{Code: pb.FindingCode(code), Characteristic: characteristic, Rule: rule, Message: message}
	}
	then := []*pb.Finding{f(101, "a", "", "x"), f(802, "b", "", "x"), f(802, "b", "", "y"), f(901, "", "r", "x"), f(601, "", "", "x")}
	now := []*pb.Finding{f(901, "", "s", "x"), f(802, "b", "", "z"), f(101, "a", "", "other words"), f(601, "", "", "x"), f(601, "", "", "y")}
	added, gone := compareFindings(then, now)
	if got := codesOf(added); got != "[RULE_BROKEN  OPTION_UNKNOWN ]" {
		t.Errorf("new: got %s", got)
	}
	if got := codesOf(gone); got != "[DUPLICATE_READING b RULE_BROKEN ]" {
		t.Errorf("gone: got %s", got)
	}
	if slices.ContainsFunc(gone, func(f *pb.Finding) bool { return f.GetMessage() != "" }) {
		t.Errorf("got %v, want no sentences of what is gone", gone)
	}
	if added, gone = compareFindings(then, then); len(added)+len(gone) > 0 {
		t.Errorf("the same: got %v and %v", added, gone)
	}
}

package server

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"slices"
	"strings"
	"testing"
	"time"

	"google.golang.org/genproto/googleapis/rpc/errdetails"
	"google.golang.org/grpc/codes"
	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/types/known/timestamppb"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
	"github.com/snapgauge/snapgauge/service/document"
	"github.com/snapgauge/snapgauge/service/spec"
	"github.com/snapgauge/snapgauge/specs"
)

const rill = "rill-125-2026-eu"

// rillSheet is revision 1 of the EU sheet of testdata after a change.
func rillSheet(t testing.TB, change func(*pb.SpecSheet)) *pb.SpecSheet {
	t.Helper()
	revisions, err := spec.Load(os.DirFS("testdata"))
	if err != nil {
		t.Fatal(err)
	}
	i := slices.IndexFunc(revisions, func(r *spec.Revision) bool { return r.SpecID() == rill && r.Number() == 1 })
	sheet := proto.CloneOf(revisions[i].Sheet())
	change(sheet)
	return sheet
}

// tarnSheet is a sheet of another model, which testdata does not have.
func tarnSheet(t testing.TB, revision int32, change func(*pb.SpecSheet)) *pb.SpecSheet {
	t.Helper()
	return rillSheet(t, func(s *pb.SpecSheet) {
		s.SpecId, s.Revision, s.Model, s.ModelAliases = tarn, revision, "Tarn 300", nil
		s.Vin = &pb.VinCoverage{Patterns: []string{"0VBTN????T1??????"}}
		change(s)
	})
}

const tarn = "tarn-300-2026-eu"

func tarnRecord() *pb.SetupRecord {
	return with(func(r *pb.SetupRecord) { r.Unit.Model, r.Unit.Vin = "Tarn 300", "0VBTN0000T1000123" })
}

func unchanged(*pb.SpecSheet) {}

func characteristic(s *pb.SpecSheet, id string) *pb.Characteristic {
	return s.Characteristics[slices.IndexFunc(s.Characteristics, func(c *pb.Characteristic) bool { return c.GetId() == id })]
}

// derivedFile is a file that changes the first revision of the EU sheet.
func derivedFile(change func(*pb.DerivedSheet)) *pb.SheetFile {
	d := &pb.DerivedSheet{
		BaseSpecId: rill, BaseRevision: 1,
		Head: &pb.SpecSheet{
			Revision: 3, ChangeNote: "Less slack again.",
			EffectiveTime: timestamppb.New(time.Date(2026, 5, 1, 0, 0, 0, 0, time.UTC)),
		},
		Amendment: &pb.Amendment{Override: []*pb.Characteristic{{
			Id:     "chain_slack",
			Limits: &pb.Limits{Lower: proto.Float64(30), Upper: proto.Float64(40), Nominal: proto.Float64(35), Unit: "mm"},
		}}},
	}
	change(d)
	return &pb.SheetFile{Content: &pb.SheetFile_Derived{Derived: d}}
}

func TestPublishSpec(t *testing.T) {
	b := newBench(t)
	_, err := b.setups.ValidateSetup(t.Context(), &pb.ValidateSetupRequest{Record: tarnRecord()})
	wantStatus(t, err, codes.NotFound, reasonSpecNotFound, "")

	req := &pb.PublishSpecRequest{File: wholeFile(tarnSheet(t, 1, unchanged)), ValidateOnly: true}
	before := time.Now().Add(-time.Second)
	would, err := b.specs.PublishSpec(t.Context(), req)
	if err != nil {
		t.Fatal(err)
	}
	if r := would.GetSpecRevision(); would.GetCreated() || r.GetName() != "specs/"+tarn+"/revisions/1" || r.RecordTime != nil {
		t.Errorf("validate_only: got %v", would)
	}
	_, err = b.specs.GetSpec(t.Context(), &pb.GetSpecRequest{Name: "specs/" + tarn})
	wantStatus(t, err, codes.NotFound, reasonSpecNotFound, "")

	req.ValidateOnly = false
	first, err := b.specs.PublishSpec(t.Context(), req)
	if err != nil {
		t.Fatal(err)
	}
	r := first.GetSpecRevision()
	if !first.GetCreated() || r.GetDigest() != would.GetSpecRevision().GetDigest() || r.GetEtag() == "" ||
		r.GetRecordTime().AsTime().Before(before) || r.GetCharacteristicCount() != 5 {
		t.Errorf("got %v, want what was foretold", first)
	}
	// In force at once, on the server that published it.
	resp, err := b.setups.ValidateSetup(t.Context(), &pb.ValidateSetupRequest{Record: tarnRecord()})
	if err != nil {
		t.Fatal(err)
	}
	report := resp.GetReport()
	if report.GetSpecRevision() != r.GetName() || report.GetDigest() != r.GetDigest() ||
		report.GetVerdict() != pb.Verdict_VERDICT_ACCEPT || !strings.Contains(report.GetWhy(), "revision 1 of "+tarn) {
		t.Errorf("got %v, want an accepted record by %s, and why", report, r.GetName())
	}

	// The same again is the same, whatever the etag.
	for _, etag := range []string{"", r.GetEtag(), "other"} {
		for _, only := range []bool{false, true} {
			again, err := b.specs.PublishSpec(t.Context(), &pb.PublishSpecRequest{File: req.File, Etag: etag, ValidateOnly: only})
			if err != nil || again.GetCreated() || !proto.Equal(again.GetSpecRevision(), r) {
				t.Errorf("etag %q, validate only %v: got %v and %v, want %v not created", etag, only, again, err, r)
			}
		}
	}
	// A second one, upon the first.
	second := b.publish(t, tarnSheet(t, 2, func(s *pb.SpecSheet) { characteristic(s, "chain_slack").Limits.Upper = proto.Float64(43) }))
	if second.GetEtag() == r.GetEtag() || second.GetRevision() != 2 {
		t.Errorf("got %v after %v", second, r)
	}
}

// A derived file makes the sheet that the same file makes in a directory.
func TestPublishDerivedSpec(t *testing.T) {
	b := newBench(t, withSheets(nil))
	published := 0
	for _, dir := range []fs.FS{os.DirFS("testdata"), specs.FS} {
		revisions, err := spec.Load(dir)
		if err != nil {
			t.Fatal(err)
		}
		digests := make(map[string]string)
		for _, r := range revisions {
			digests[r.Name()] = r.Digest()
		}
		left := sheetFiles(t, dir)
		for len(left) > 0 { // bases first: a file whose base is not there yet waits
			before := len(left)
			for name, file := range left {
				specID := file.GetSheet().GetSpecId()
				if d := file.GetDerived(); d != nil {
					if specID = d.GetBaseSpecId(); d.GetHead().GetSpecId() != "" {
						specID = d.GetHead().GetSpecId()
					}
				}
				resp, err := b.specs.PublishSpec(t.Context(), &pb.PublishSpecRequest{File: file, Etag: b.etag(t, specID)})
				if st := statusReason(err); st == reasonBaseNotFound || st == reasonRevisionNumber {
					continue
				}
				if err != nil {
					t.Fatalf("%s: %v", name, err)
				}
				if r := resp.GetSpecRevision(); r.GetDigest() != digests[r.GetName()] {
					t.Errorf("%s: got %s, want the digest %s", name, r, digests[r.GetName()])
				}
				published++
				delete(left, name)
			}
			if len(left) == before {
				t.Fatalf("%d files cannot be published", before)
			}
		}
	}
	if published < 10 {
		t.Errorf("got only %d files", published)
	}
}

func sheetFiles(t testing.TB, dir fs.FS) map[string]*pb.SheetFile {
	t.Helper()
	files := make(map[string]*pb.SheetFile)
	err := fs.WalkDir(dir, "sheets", func(path string, entry fs.DirEntry, err error) error {
		if err != nil || !strings.HasSuffix(path, ".yaml") {
			return err
		}
		data, err := fs.ReadFile(dir, path)
		if err != nil {
			return err
		}
		files[path] = &pb.SheetFile{}
		_, err = document.Decode(data, files[path], document.Options{Name: path, MaxBytes: document.SheetMaxBytes})
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	return files
}

func TestPublishSpecRefused(t *testing.T) {
	b := newBench(t)
	etag := b.etag(t, rill)
	whole := func(change func(*pb.SpecSheet)) *pb.PublishSpecRequest {
		sheet := rillSheet(t, func(s *pb.SpecSheet) {
			s.Revision, s.EffectiveTime = 3, timestamppb.New(time.Date(2026, 5, 1, 0, 0, 0, 0, time.UTC))
			change(s)
		})
		return &pb.PublishSpecRequest{File: wholeFile(sheet), Etag: etag}
	}
	derived := func(change func(*pb.DerivedSheet)) *pb.PublishSpecRequest {
		return &pb.PublishSpecRequest{File: derivedFile(change), Etag: etag}
	}
	rule := func(expression string) *pb.Rule {
		return &pb.Rule{
			Id: "new_rule", Expression: expression, Message: "Wrong.", Remedy: "Mend it.",
			Severity: pb.Severity_SEVERITY_FUNCTION, Source: "Invented",
		}
	}
	for name, tc := range map[string]struct {
		req    *pb.PublishSpecRequest
		code   codes.Code
		reason string
		field  string
	}{
		"nothing":    {&pb.PublishSpecRequest{}, codes.InvalidArgument, reasonSheetInvalid, "file"},
		"empty file": {&pb.PublishSpecRequest{File: &pb.SheetFile{}}, codes.InvalidArgument, reasonSheetInvalid, "file"},
		"empty sheet": {&pb.PublishSpecRequest{File: wholeFile(&pb.SpecSheet{})}, codes.InvalidArgument,
			reasonSheetInvalid, "file.sheet.spec_id"},
		"etag too long": {&pb.PublishSpecRequest{Etag: strings.Repeat("x", 129)}, codes.InvalidArgument, "string.max_len", "etag"},
		"limits inverted": {whole(func(s *pb.SpecSheet) { s.Characteristics[3-1].Limits.Lower = proto.Float64(700) }),
			codes.InvalidArgument, reasonSheetInvalid, "file.sheet.characteristics[2].limits"},
		"wrong dimension": {whole(func(s *pb.SpecSheet) { characteristic(s, "rear_axle_nut").Limits.Unit = "mm" }),
			codes.InvalidArgument, reasonSheetInvalid, "file.sheet.characteristics[0].limits.unit"},
		"source missing": {whole(func(s *pb.SpecSheet) { s.Characteristics[1].Source = "" }),
			codes.InvalidArgument, reasonSheetInvalid, "file.sheet.characteristics[1].source"},
		"rule does not compile": {whole(func(s *pb.SpecSheet) { s.Rules[0].Expression = "chain_slack +" }),
			codes.InvalidArgument, reasonSheetInvalid, "file.sheet.rules[0]"},
		"rule of the wrong type": {whole(func(s *pb.SpecSheet) { s.Rules[0].Expression = `chain_slack == "x"` }),
			codes.InvalidArgument, reasonSheetInvalid, "file.sheet.rules[0]"},
		"example disagrees": {whole(func(s *pb.SpecSheet) {
			example := goodRecord()
			example.Expectation = &pb.Expectation{Verdict: pb.Verdict_VERDICT_REJECT, Codes: []pb.FindingCode{pb.FindingCode_FINDING_CODE_BELOW_LOWER_LIMIT}}
			s.Examples = append(s.Examples, example)
		}), codes.InvalidArgument, reasonSheetInvalid, "file.sheet.examples[0]"},
		"another market": {whole(func(s *pb.SpecSheet) { s.Market = "US" }), codes.InvalidArgument, reasonSheetInvalid, "file.sheet.market"},
		"VINs of another spec": {&pb.PublishSpecRequest{File: wholeFile(rillSheet(t, func(s *pb.SpecSheet) { s.SpecId = "rill-again" }))},
			codes.InvalidArgument, reasonSheetInvalid, "file.sheet.vin"},
		"time that is none": {whole(func(s *pb.SpecSheet) { s.EffectiveTime = &timestamppb.Timestamp{Nanos: -1} }),
			codes.InvalidArgument, reasonTimeInvalid, "file.sheet.effective_time"},
		"too large": {whole(func(s *pb.SpecSheet) {
			for range 3100 {
				s.Cautions = append(s.Cautions, strings.Repeat("x", 1024))
			}
		}), codes.InvalidArgument, reasonSheetInvalid, "file"},

		"etag of nothing":    {changed(whole(unchanged), ""), codes.Aborted, reasonSpecChanged, ""},
		"stale etag":         {changed(whole(unchanged), "other"), codes.Aborted, reasonSpecChanged, ""},
		"etag for a new one": {&pb.PublishSpecRequest{File: wholeFile(tarnSheet(t, 1, unchanged)), Etag: etag}, codes.Aborted, reasonSpecChanged, ""},
		"number twice":       {whole(func(s *pb.SpecSheet) { s.Revision = 2 }), codes.FailedPrecondition, reasonRevisionNumber, ""},
		"number left out":    {whole(func(s *pb.SpecSheet) { s.Revision = 4 }), codes.FailedPrecondition, reasonRevisionNumber, ""},
		"begins too early": {whole(func(s *pb.SpecSheet) { s.EffectiveTime = timestamppb.New(testFinish) }),
			codes.FailedPrecondition, reasonEffectiveTime, ""},

		"no base":          {derived(func(d *pb.DerivedSheet) { d.BaseSpecId = "none-1" }), codes.FailedPrecondition, reasonBaseNotFound, ""},
		"no such base":     {derived(func(d *pb.DerivedSheet) { d.BaseRevision = 9 }), codes.FailedPrecondition, reasonBaseNotFound, ""},
		"base by shape":    {derived(func(d *pb.DerivedSheet) { d.BaseSpecId = "Rill" }), codes.InvalidArgument, reasonSheetInvalid, "file.derived.base_spec_id"},
		"base nought":      {derived(func(d *pb.DerivedSheet) { d.BaseRevision = 0 }), codes.InvalidArgument, reasonSheetInvalid, "file.derived.base_revision"},
		"builds on itself": {derived(func(d *pb.DerivedSheet) { d.Head.Revision = 1 }), codes.InvalidArgument, reasonSheetInvalid, "file.derived.head.revision"},
		"override of nothing": {derived(func(d *pb.DerivedSheet) { d.Amendment.Override[0].Id = "chain_slakc" }),
			codes.InvalidArgument, reasonSheetInvalid, "file.derived.amendment.override[0].id"},
		"override inverted": {derived(func(d *pb.DerivedSheet) { d.Amendment.Override[0].Limits.Lower = proto.Float64(41) }),
			codes.InvalidArgument, reasonSheetInvalid, "file.derived.amendment.override[0].limits"},
		"override of a base's word": {derived(func(d *pb.DerivedSheet) {
			d.Amendment.Override[0] = &pb.Characteristic{Id: "rear_axle_nut", Kind: &pb.Characteristic_Measured{Measured: &pb.Measured{}}, Prerequisites: []string{"none"}}
		}), codes.InvalidArgument, reasonSheetInvalid, "file.derived.amendment.override[0].prerequisites[0]"},
		"add by shape": {derived(func(d *pb.DerivedSheet) { d.Amendment.Add = []*pb.Characteristic{{Id: "foot_peg"}} }),
			codes.InvalidArgument, reasonSheetInvalid, "file.derived.amendment.add[0].display_name"},
		"remove what others need": {derived(func(d *pb.DerivedSheet) {
			d.Amendment = &pb.Amendment{Remove: []string{"front_sprocket"}, AddRules: []*pb.Rule{rule("front_sprocket > 1")}}
		}), codes.InvalidArgument, reasonSheetInvalid, ""},
		"added rule": {derived(func(d *pb.DerivedSheet) { d.Amendment.AddRules = []*pb.Rule{rule("chain_slack +")} }),
			codes.InvalidArgument, reasonSheetInvalid, "file.derived.amendment.add_rules[0]"},
		"head of another market": {derived(func(d *pb.DerivedSheet) { d.Head.Market = "AU" }),
			codes.InvalidArgument, reasonSheetInvalid, "file.derived.head.market"},
		"head without VINs": {derived(func(d *pb.DerivedSheet) { d.Head.Vin = &pb.VinCoverage{} }),
			codes.InvalidArgument, reasonSheetInvalid, "file.derived.head.vin.patterns"},
		"derived stale": {changed(derived(func(*pb.DerivedSheet) {}), "x"), codes.Aborted, reasonSpecChanged, ""},
		"derived time that is none": {derived(func(d *pb.DerivedSheet) { d.Head.EffectiveTime = &timestamppb.Timestamp{Seconds: 1 << 60} }),
			codes.InvalidArgument, reasonTimeInvalid, "file.derived.head.effective_time"},
	} {
		t.Run(name, func(t *testing.T) {
			for _, only := range []bool{false, true} {
				tc.req.ValidateOnly = only
				_, err := b.specs.PublishSpec(t.Context(), tc.req)
				wantStatus(t, err, tc.code, tc.reason, tc.field)
			}
			if got := b.etag(t, rill); got != etag {
				t.Error("something was published")
			}
		})
	}
	// The etag that is told is the one to use, once the change has been looked at.
	_, err := b.specs.PublishSpec(t.Context(), changed(whole(unchanged), "other"))
	if got := metadataOf(err)["etag"]; got != etag {
		t.Errorf("got etag %q in %v, want %q", got, err, etag)
	}
	if _, err := b.specs.PublishSpec(t.Context(), derived(func(*pb.DerivedSheet) {})); err != nil {
		t.Errorf("the sound one: %v", err)
	}
}

func changed(req *pb.PublishSpecRequest, etag string) *pb.PublishSpecRequest {
	req.Etag = etag
	return req
}

// Of a sheet with any number of faults as many are told as there is room for.
func TestPublishSpecTellsManyFaults(t *testing.T) {
	b := newBench(t)
	sheet := tarnSheet(t, 1, func(s *pb.SpecSheet) {
		for i := range 500 {
			c := proto.CloneOf(characteristic(s, "chain_slack"))
			c.Id, c.Limits.Unit = fmt.Sprintf("slack_%d", i), strings.Repeat("furlong", 20)
			s.Characteristics = append(s.Characteristics, c)
		}
	})
	_, err := b.specs.PublishSpec(t.Context(), &pb.PublishSpecRequest{File: wholeFile(sheet)})
	st := wantStatus(t, err, codes.InvalidArgument, reasonSheetInvalid, "file.sheet.characteristics[5].limits.unit")
	if size := proto.Size(st.Proto()); size > 6<<10 {
		t.Errorf("got a status of %d bytes", size)
	}
	if !strings.Contains(st.Message(), "more") {
		t.Errorf("got %q, want how many there are", st.Message())
	}
}

// Of several who publish upon the same revision one wins.
func TestPublishSpecAtOnce(t *testing.T) {
	b := newBench(t, withSheets(nil))
	first := b.publish(t, tarnSheet(t, 1, unchanged))
	const callers = 8
	results := make(chan error, callers)
	for i := range callers {
		sheet := tarnSheet(t, 2, func(s *pb.SpecSheet) { s.ChangeNote = fmt.Sprintf("Draft %d.", i) })
		go func() {
			_, err := b.specs.PublishSpec(t.Context(), &pb.PublishSpecRequest{File: wholeFile(sheet), Etag: first.GetEtag()})
			results <- err
		}()
	}
	won := 0
	for range callers {
		err := <-results
		if err == nil {
			won++
			continue
		}
		wantStatus(t, err, codes.Aborted, reasonSpecChanged, "")
	}
	if won != 1 {
		t.Errorf("got %d published, want 1", won)
	}
}

func TestWithdrawSpecRevision(t *testing.T) {
	b := newBench(t)
	late := with(func(r *pb.SetupRecord) { r.FinishTime = timestamppb.New(time.Date(2026, 6, 1, 0, 0, 0, 0, time.UTC)) })
	by := func() string {
		t.Helper()
		resp, err := b.setups.ValidateSetup(t.Context(), &pb.ValidateSetupRequest{Record: late})
		if err != nil {
			t.Fatal(err)
		}
		return resp.GetReport().GetSpecRevision()
	}
	name := "specs/" + rill + "/revisions/2"
	if got := by(); got != name {
		t.Fatalf("got %s, want %s", got, name)
	}
	published, err := b.specs.GetSpec(t.Context(), &pb.GetSpecRequest{Name: name})
	if err != nil {
		t.Fatal(err)
	}
	req := &pb.WithdrawSpecRevisionRequest{Name: name, Reason: "The slack is that of another chain."}
	first, err := b.specs.WithdrawSpecRevision(t.Context(), req)
	if err != nil {
		t.Fatal(err)
	}
	r := first.GetSpecRevision()
	if r.GetWithdrawReason() != req.Reason || r.WithdrawTime == nil || r.GetEtag() == published.GetSpecRevision().GetEtag() {
		t.Errorf("got %v, want it withdrawn with another etag", r)
	}
	if got := by(); got != "specs/"+rill+"/revisions/1" {
		t.Errorf("got %s after it was withdrawn", got)
	}
	again, err := b.specs.WithdrawSpecRevision(t.Context(), &pb.WithdrawSpecRevisionRequest{Name: name, Reason: "Another reason."})
	if err != nil || !proto.Equal(again, first) {
		t.Errorf("again: got %v and %v, want the first answer %v", again, err, first)
	}

	// It stays readable, and says what became of it.
	got, err := b.specs.GetSpec(t.Context(), &pb.GetSpecRequest{Name: name})
	if err != nil {
		t.Fatal(err)
	}
	if !proto.Equal(got.GetSheet(), published.GetSheet()) || !proto.Equal(got.GetSpecRevision(), r) || !strings.Contains(got.GetWhy(), "withdrawn") {
		t.Errorf("got %v because %q", got.GetSpecRevision(), got.GetWhy())
	}
	list, err := b.specs.ListSpecRevisions(t.Context(), &pb.ListSpecRevisionsRequest{Parent: "specs/" + rill})
	if err != nil || !proto.Equal(list.GetSpecRevisions()[0], r) || list.GetSpecRevisions()[1].WithdrawTime != nil {
		t.Errorf("got %v and %v", list, err)
	}

	// Looking back to before, it was in force.
	before := timestamppb.New(r.GetWithdrawTime().AsTime().Add(-time.Microsecond))
	asOf := timestamppb.New(time.Date(2026, 6, 1, 0, 0, 0, 0, time.UTC))
	then, err := b.specs.GetSpec(t.Context(), &pb.GetSpecRequest{Name: "specs/" + rill, AsOfTime: asOf, KnownTime: before})
	if err != nil || then.GetSpecRevision().GetRevision() != 2 {
		t.Errorf("as known before: got %v and %v", then.GetSpecRevision(), err)
	}
	judged, err := b.setups.ValidateSetup(t.Context(), &pb.ValidateSetupRequest{Record: late, KnownTime: before})
	if err != nil || judged.GetReport().GetSpecRevision() != name {
		t.Errorf("as known before: judged by %s and %v", judged.GetReport().GetSpecRevision(), err)
	}
	ancient := timestamppb.New(time.Date(2020, 1, 1, 0, 0, 0, 0, time.UTC))
	_, err = b.setups.ValidateSetup(t.Context(), &pb.ValidateSetupRequest{Record: late, KnownTime: ancient})
	wantStatus(t, err, codes.FailedPrecondition, reasonNoRevisionInForce, "")
	_, err = b.specs.GetSpec(t.Context(), &pb.GetSpecRequest{Name: name, KnownTime: ancient})
	wantStatus(t, err, codes.NotFound, reasonSpecNotFound, "")

	// The last one goes as well.
	if _, err := b.specs.WithdrawSpecRevision(t.Context(), &pb.WithdrawSpecRevisionRequest{Name: "specs/" + rill + "/revisions/1", Reason: "Wrong."}); err != nil {
		t.Fatal(err)
	}
	_, err = b.setups.ValidateSetup(t.Context(), &pb.ValidateSetupRequest{Record: late})
	st := wantStatus(t, err, codes.FailedPrecondition, reasonNoRevisionInForce, "")
	if !strings.Contains(st.Message(), "withdrawn") {
		t.Errorf("got %q, want that it was withdrawn", st.Message())
	}
}

func TestWithdrawSpecRevisionRefused(t *testing.T) {
	b := newBench(t)
	name := "specs/" + rill + "/revisions/1"
	for label, tc := range map[string]struct {
		name, why     string
		code          codes.Code
		reason, field string
	}{
		"no name":     {"", "x", codes.InvalidArgument, "required", "name"},
		"a spec":      {"specs/" + rill, "x", codes.InvalidArgument, "string.pattern", "name"},
		"no reason":   {name, "", codes.InvalidArgument, "required", "reason"},
		"long reason": {name, strings.Repeat("x", 2049), codes.InvalidArgument, "string.max_len", "reason"},
		"many bytes":  {name, strings.Repeat("ü", 2048), codes.InvalidArgument, "string.max_bytes", "reason"},
		"no spec":     {"specs/none/revisions/1", "x", codes.NotFound, reasonSpecNotFound, ""},
		"no revision": {"specs/" + rill + "/revisions/7", "x", codes.NotFound, reasonSpecNotFound, ""},
	} {
		t.Run(label, func(t *testing.T) {
			_, err := b.specs.WithdrawSpecRevision(t.Context(), &pb.WithdrawSpecRevisionRequest{Name: tc.name, Reason: tc.why})
			wantStatus(t, err, tc.code, tc.reason, tc.field)
		})
	}
}

// What a fault of a derived sheet is said of is there in the file, so that a
// client finds its line.
func TestDerivedProblemsHaveLines(t *testing.T) {
	base := rillSheet(t, unchanged)
	for _, tc := range []struct {
		change func(*pb.DerivedSheet)
		want   []string
	}{
		{func(d *pb.DerivedSheet) {
			d.BaseRevision = 0
			d.Amendment.Add = []*pb.Characteristic{{Id: "foot_peg"}}
		}, []string{"derived.base_revision", "derived.amendment.add[0].display_name"}},
		{func(d *pb.DerivedSheet) {
			d.Head.ModelYear = 3
			d.Amendment.Override[0].Limits.Unit = "furlongz"
			d.Amendment.Remove = []string{"stop_switch"}
			added := proto.CloneOf(base.GetCharacteristics()[0])
			added.Id, added.Prerequisites = "front_axle_nut", []string{"front_axle"}
			d.Amendment.Add = []*pb.Characteristic{added}
		}, []string{
			"derived.head.model_year", "derived.amendment.override[0].limits.unit", "derived.amendment.add[0].prerequisites[0]",
		}},
		{func(d *pb.DerivedSheet) { d.Amendment.Remove = []string{"stop_swich"} }, []string{"derived.amendment.remove[0]"}},
	} {
		file := derivedFile(tc.change)
		text, err := document.Encode(file)
		if err != nil {
			t.Fatal(err)
		}
		lines, err := document.Decode(text, &pb.SheetFile{}, document.Options{MaxBytes: document.SheetMaxBytes})
		if err != nil {
			t.Fatal(err)
		}
		_, err = derive(base, file.GetDerived())
		var bad *spec.SheetError
		if !errors.As(err, &bad) {
			t.Fatalf("got %v, want a SheetError", err)
		}
		var found []string
		for _, p := range inDerivedFile(bad, base, file.GetDerived()) {
			if line, _, _ := lines.Line(p.Path); line == 0 {
				t.Errorf("%s: no line in\n%s", p, text)
			}
			found = append(found, p.Path)
		}
		for _, want := range tc.want {
			if !slices.Contains(found, want) {
				t.Errorf("got problems of %v, want one of %s", found, want)
			}
		}
	}
}

// statusReason is the reason of an error's ErrorInfo.
func statusReason(err error) string {
	for _, d := range detailsOf(err) {
		if info, ok := d.(*errdetails.ErrorInfo); ok {
			return info.GetReason()
		}
	}
	return ""
}

// metadataOf is that of an error's ErrorInfo.
func metadataOf(err error) map[string]string {
	for _, d := range detailsOf(err) {
		if info, ok := d.(*errdetails.ErrorInfo); ok {
			return info.GetMetadata()
		}
	}
	return nil
}

package server

import (
	"bytes"
	"context"
	"fmt"
	"strings"
	"testing"
	"time"

	"google.golang.org/grpc/codes"
	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/types/known/timestamppb"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
	"github.com/snapgauge/snapgauge/service/store"
)

// The subjects of a request for a sheet.
func ofPlanRequest(p *pb.PlanSetupRequest) *pb.RenderSheetRequest {
	return &pb.RenderSheetRequest{Kind: pb.SheetKind_SHEET_KIND_JOB, Subject: &pb.RenderSheetRequest_Plan{Plan: p}}
}

func ofRecordFor(kind pb.SheetKind, r *pb.SetupRecord) *pb.RenderSheetRequest {
	return &pb.RenderSheetRequest{Kind: kind, Subject: &pb.RenderSheetRequest_Record{Record: r}}
}

func ofSetup(kind pb.SheetKind, name string) *pb.RenderSheetRequest {
	return &pb.RenderSheetRequest{Kind: kind, Subject: &pb.RenderSheetRequest_Setup{Setup: name}}
}

const (
	jobSheet      = pb.SheetKind_SHEET_KIND_JOB
	handoverSheet = pb.SheetKind_SHEET_KIND_HANDOVER
)

func TestRenderSheet(t *testing.T) {
	b := newBench(t)
	stored := b.submit(t, goodRecord())
	rill := &pb.PlanSetupRequest{Model: "rill"}
	for name, tc := range map[string]struct {
		req      *pb.RenderSheetRequest
		fileName string
		says     []string
	}{
		"job": {ofPlanRequest(rill), "snapgauge-job-rill-125-2026", []string{"Job sheet", "Quillback Rill 125", "Chain slack"}},
		"job of a unit": {ofPlanRequest(&pb.PlanSetupRequest{Model: "rill", Vin: "0vbrl0000t1000123"}),
			"snapgauge-job-rill-125-2026-0VBRL0000T1000123", []string{"Job sheet", "0VBRL0000T1000123"}},
		"job filled in": {ofRecordFor(jobSheet, goodRecord()),
			"snapgauge-job-rill-125-2026-0VBRL0000T1000123", []string{"Job sheet, filled in", "Chain slack"}},
		"job filled in, stored": {ofSetup(jobSheet, stored.GetName()),
			"snapgauge-job-rill-125-2026-0VBRL0000T1000123", []string{"Job sheet, filled in"}},
		"handover": {ofRecordFor(handoverSheet, goodRecord()),
			"snapgauge-handover-rill-125-2026-0VBRL0000T1000123", []string{"Handover sheet", "Accepted", "41 mm"}},
		"handover, stored": {ofSetup(handoverSheet, stored.GetName()),
			"snapgauge-handover-rill-125-2026-0VBRL0000T1000123", []string{"Handover sheet", "Accepted", "41 mm"}},
		"handover of what is wrong": {ofRecordFor(handoverSheet, with(func(r *pb.SetupRecord) { r.Readings[0].Result = &pb.Reading_Value{Value: 20} })),
			"snapgauge-handover-rill-125-2026-0VBRL0000T1000123", []string{"Handover sheet", "Not accepted"}},
		"handover with a bad VIN": {ofRecordFor(handoverSheet, with(func(r *pb.SetupRecord) { r.Unit.Vin = "0VBRL" })),
			"snapgauge-handover-rill-125-2026", []string{"Handover sheet", "Not accepted"}},
		"handover with options at odds": {ofRecordFor(handoverSheet, with(func(r *pb.SetupRecord) { r.Options = []string{"heated_guards"} })),
			"snapgauge-handover-rill-125-2026-0VBRL0000T1000123", []string{"Handover sheet", "Not accepted"}},
	} {
		t.Run(name, func(t *testing.T) {
			for _, format := range []struct {
				format                      pb.SheetFormat
				media, extension, beginning string
			}{
				{pb.SheetFormat_SHEET_FORMAT_UNSPECIFIED, "text/html; charset=utf-8", ".html", "<!doctype html>"},
				{pb.SheetFormat_SHEET_FORMAT_HTML, "text/html; charset=utf-8", ".html", "<!doctype html>"},
				{pb.SheetFormat_SHEET_FORMAT_PDF, "application/pdf", ".pdf", "%pdf-"},
			} {
				req := proto.CloneOf(tc.req)
				req.Format = format.format
				resp, err := b.setups.RenderSheet(t.Context(), req)
				if err != nil {
					t.Fatal(err)
				}
				if resp.GetMediaType() != format.media || resp.GetFileName() != tc.fileName+format.extension {
					t.Errorf("got %s of type %s, want %s of type %s",
						resp.GetFileName(), resp.GetMediaType(), tc.fileName+format.extension, format.media)
				}
				if !bytes.HasPrefix(bytes.ToLower(resp.GetContent()), []byte(format.beginning)) {
					t.Errorf("content begins with %.40q, want %q", resp.GetContent(), format.beginning)
				}
				for _, want := range tc.says {
					if format.extension == ".html" && !bytes.Contains(resp.GetContent(), []byte(want)) {
						t.Errorf("the sheet does not say %q", want)
					}
				}
			}
		})
	}
	if n := b.stored(t); n != 1 {
		t.Errorf("drawing stored %d setups", n-1)
	}
	if got := b.counter(t, "snapgauge_verdicts_total", "ACCEPT"); got != 1 {
		t.Errorf("got %v verdicts counted, want that of the submit alone", got)
	}
}

func TestRenderSheetUnitsAndPaper(t *testing.T) {
	b := newBench(t)
	const (
		metric = pb.UnitSystem_UNIT_SYSTEM_METRIC
		us     = pb.UnitSystem_UNIT_SYSTEM_US
	)
	for name, tc := range map[string]struct {
		sheet, plan, want pb.UnitSystem
	}{
		"neither says": {0, 0, metric},
		"the plan":     {0, us, us},
		"the sheet":    {us, 0, us},
		"both":         {metric, us, metric},
	} {
		t.Run(name, func(t *testing.T) {
			req := ofPlanRequest(&pb.PlanSetupRequest{Model: "rill", UnitSystem: tc.plan})
			req.UnitSystem = tc.sheet
			resp, err := b.setups.RenderSheet(t.Context(), req)
			if err != nil {
				t.Fatal(err)
			}
			if got := bytes.Contains(resp.GetContent(), []byte("lbf")); got != (tc.want == us) {
				t.Errorf("US units: got %v, want %v", got, tc.want)
			}
		})
	}
	for paper, want := range map[pb.PaperSize]string{0: "210mm 297mm", pb.PaperSize_PAPER_SIZE_A4: "210mm 297mm", pb.PaperSize_PAPER_SIZE_LETTER: "215.9mm 279.4mm"} {
		req := ofPlanRequest(&pb.PlanSetupRequest{Model: "rill"})
		req.Paper = paper
		resp, err := b.setups.RenderSheet(t.Context(), req)
		if err != nil {
			t.Fatal(err)
		}
		if !bytes.Contains(resp.GetContent(), []byte(want)) {
			t.Errorf("%v: the page is not %s", paper, want)
		}
	}
}

// A record is drawn by the revision of its day; a stored one by the revision
// that judged it, also when the sheets have changed since.
func TestRenderSheetRevision(t *testing.T) {
	b := newBench(t)
	stored := b.submit(t, goodRecord())
	says := func(req *pb.RenderSheetRequest, want string) {
		t.Helper()
		resp, err := b.setups.RenderSheet(t.Context(), req)
		if err != nil {
			t.Fatal(err)
		}
		if !bytes.Contains(resp.GetContent(), []byte(want)) {
			t.Errorf("the sheet does not say %q", want)
		}
	}
	later := with(func(r *pb.SetupRecord) { r.FinishTime = timestamppb.New(time.Date(2026, 6, 1, 0, 0, 0, 0, time.UTC)) })
	says(ofRecordFor(handoverSheet, goodRecord()), "rill-125-2026-eu revision 1")
	says(ofRecordFor(handoverSheet, later), "rill-125-2026-eu revision 2")

	// A revision that is in force from before the day takes the place of one that
	// was wrong.
	if _, err := b.live.Withdraw(t.Context(), "rill-125-2026-eu", 2, "The date is wrong."); err != nil {
		t.Fatal(err)
	}
	sheet := proto.CloneOf(b.revision(t, "rill-125-2026-eu", 1).Sheet())
	sheet.Revision, sheet.EffectiveTime = 3, timestamppb.New(testFinish.Add(-time.Hour))
	b.publish(t, sheet)
	says(ofRecordFor(handoverSheet, goodRecord()), "rill-125-2026-eu revision 3")
	says(ofSetup(handoverSheet, stored.GetName()), "rill-125-2026-eu revision 1")

	// That a revision was withdrawn does not change what it judged.
	if _, err := b.live.Withdraw(t.Context(), "rill-125-2026-eu", 1, "It is wrong as well."); err != nil {
		t.Fatal(err)
	}
	says(ofSetup(handoverSheet, stored.GetName()), "rill-125-2026-eu revision 1")
}

// The revision that judged a set-up is not here, though one of its name is.
func TestRenderSheetOfAnotherStore(t *testing.T) {
	for name, change := range map[string]func(*pb.Report){
		"another content":  func(r *pb.Report) { r.Digest = strings.Repeat("0", 64) },
		"another number":   func(r *pb.Report) { r.SpecRevision = "specs/rill-125-2026-eu/revisions/9" },
		"another spec":     func(r *pb.Report) { r.SpecRevision = "specs/none/revisions/1" },
		"no name":          func(r *pb.Report) { r.SpecRevision = "" },
		"name of the spec": func(r *pb.Report) { r.SpecRevision = "specs/rill-125-2026-eu" },
	} {
		t.Run(name, func(t *testing.T) {
			b := newBench(t, withStore(func(db store.DB) store.DB {
				return changedStore{db, func(s *store.Setup) {
					s.Report = proto.CloneOf(s.Report)
					change(s.Report)
				}}
			}))
			stored := b.submit(t, goodRecord())
			_, err := b.setups.RenderSheet(t.Context(), ofSetup(handoverSheet, stored.GetName()))
			wantStatus(t, err, codes.FailedPrecondition, reasonRevisionNotHeld, "")
		})
	}
}

func TestRenderSheetRefused(t *testing.T) {
	b := newBench(t)
	misfit := b.submit(t, with(func(r *pb.SetupRecord) { r.Options = []string{"heated_guards", "wings"} }))
	for name, tc := range plansRefused() {
		t.Run("plan "+name, func(t *testing.T) {
			field := tc.field
			if field != "" {
				field = "plan." + field
			}
			_, err := b.setups.RenderSheet(t.Context(), ofPlanRequest(tc.req))
			wantStatus(t, err, tc.code, tc.reason, field)
		})
	}
	changed := func(kind pb.SheetKind, change func(*pb.SetupRecord)) *pb.RenderSheetRequest {
		return ofRecordFor(kind, with(change))
	}
	for name, tc := range map[string]struct {
		req           *pb.RenderSheetRequest
		code          codes.Code
		reason, field string
	}{
		"no kind":    {ofRecordFor(0, goodRecord()), codes.InvalidArgument, "required", "kind"},
		"odd kind":   {ofRecordFor(9, goodRecord()), codes.InvalidArgument, "enum.defined_only", "kind"},
		"no subject": {&pb.RenderSheetRequest{Kind: jobSheet}, codes.InvalidArgument, "required", "subject"},
		"format": {&pb.RenderSheetRequest{Kind: jobSheet, Format: 9, Subject: ofSetup(0, "setups/x").Subject},
			codes.InvalidArgument, "enum.defined_only", "format"},
		"paper": {&pb.RenderSheetRequest{Kind: jobSheet, Paper: 9, Subject: ofSetup(0, "setups/x").Subject},
			codes.InvalidArgument, "enum.defined_only", "paper"},
		"handover of a plan": {&pb.RenderSheetRequest{Kind: handoverSheet, Subject: ofPlanRequest(&pb.PlanSetupRequest{Model: "rill"}).Subject},
			codes.InvalidArgument, reasonNotWithHandover, "plan"},
		"set-up by shape": {ofSetup(jobSheet, "x"), codes.InvalidArgument, "string.pattern", "setup"},
		"unknown set-up":  {ofSetup(handoverSheet, "setups/x"), codes.NotFound, reasonSetupNotFound, ""},
		"record without a shop": {changed(handoverSheet, func(r *pb.SetupRecord) { r.Shop = "" }),
			codes.InvalidArgument, "required", "record.shop"},
		"record of no model": {changed(handoverSheet, func(r *pb.SetupRecord) { r.Unit.Model = "Rlil 125" }),
			codes.NotFound, reasonSpecNotFound, ""},
		"record before its time": {changed(jobSheet, func(r *pb.SetupRecord) {
			r.FinishTime = timestamppb.New(time.Date(2024, 1, 1, 0, 0, 0, 0, time.UTC))
		}), codes.FailedPrecondition, reasonNoRevisionInForce, ""},
		"record with a time that is none": {changed(jobSheet, func(r *pb.SetupRecord) { r.FinishTime = &timestamppb.Timestamp{Nanos: -5} }),
			codes.InvalidArgument, reasonTimeInvalid, "record.finish_time"},
		"record with an unknown unit": {changed(handoverSheet, func(r *pb.SetupRecord) { r.Readings[0].Unit = "furlongz" }),
			codes.InvalidArgument, "UNIT_UNKNOWN", "record.readings[0].unit"},
		"job with an unknown unit": {changed(jobSheet, func(r *pb.SetupRecord) { r.Readings[0].Unit = "furlongz" }),
			codes.InvalidArgument, "UNIT_UNKNOWN", "record.readings[0].unit"},
		"job with an unknown option": {changed(jobSheet, func(r *pb.SetupRecord) { r.Options = []string{"hand_guards", "wings"} }),
			codes.InvalidArgument, reasonOptionUnknown, "record.options[1]"},
		"job with an option alone": {changed(jobSheet, func(r *pb.SetupRecord) { r.Options = []string{"heated_guards"} }),
			codes.InvalidArgument, reasonOptionRequires, "record.options[0]"},
		"stored job with options at odds": {ofSetup(jobSheet, misfit.GetName()), codes.FailedPrecondition, reasonOptionUnknown, ""},
	} {
		t.Run(name, func(t *testing.T) {
			_, err := b.setups.RenderSheet(t.Context(), tc.req)
			wantStatus(t, err, tc.code, tc.reason, tc.field)
		})
	}
}

// The largest record that the contract lets through is drawn in time, and the
// sheet is no larger than clients take.
func TestRenderSheetOfALargeRecord(t *testing.T) {
	b := newBench(t)
	record := with(func(r *pb.SetupRecord) {
		for i := len(r.Readings); i < 1024; i++ {
			r.Readings = append(r.Readings, &pb.Reading{
				Characteristic: fmt.Sprintf("stray_%d", i), Result: &pb.Reading_Value{Value: float64(i)}, Unit: "mm",
				Note: strings.Repeat("word ", 200),
			})
		}
	})
	for _, kind := range []pb.SheetKind{jobSheet, handoverSheet} {
		for _, format := range []pb.SheetFormat{pb.SheetFormat_SHEET_FORMAT_HTML, pb.SheetFormat_SHEET_FORMAT_PDF} {
			req := ofRecordFor(kind, record)
			req.Format = format
			// A client takes 4 MiB at most, unless it is told otherwise.
			if _, err := b.setups.RenderSheet(t.Context(), req); err != nil {
				t.Errorf("%v %v: %v", kind, format, err)
			}
		}
	}
}

// A stored record that cannot be judged any more is a fault of the service.
func TestRenderSheetOfABrokenStore(t *testing.T) {
	b := newBench(t, withStore(func(db store.DB) store.DB {
		return changedStore{db, func(s *store.Setup) {
			s.Record = proto.CloneOf(s.Record)
			s.Record.Readings[0].Unit = "furlongz"
		}}
	}))
	stored := b.submit(t, goodRecord())
	_, err := b.setups.RenderSheet(t.Context(), ofSetup(handoverSheet, stored.GetName()))
	wantStatus(t, err, codes.Internal, "", "")
}

// changedStore gives set-ups back otherwise than they were stored.
type changedStore struct {
	store.DB
	change func(*store.Setup)
}

func (s changedStore) Get(ctx context.Context, id string) (store.Setup, error) {
	setup, err := s.DB.Get(ctx, id)
	if err == nil {
		s.change(&setup)
	}
	return setup, err
}

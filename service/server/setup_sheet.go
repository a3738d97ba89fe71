package server

import (
	"context"
	"errors"
	"fmt"
	"strconv"
	"strings"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
	"github.com/snapgauge/snapgauge/service/gauge"
	"github.com/snapgauge/snapgauge/service/jobplan"
	"github.com/snapgauge/snapgauge/service/quantity"
	"github.com/snapgauge/snapgauge/service/sheet"
	"github.com/snapgauge/snapgauge/service/spec"
	"github.com/snapgauge/snapgauge/service/store"
	"github.com/snapgauge/snapgauge/service/vin"
)

// RenderSheet judges anew what it prints, since a stored report does not have
// the outcome of each characteristic: a record by the revision in force at its
// finish time, a stored set-up by the revision that its report names. Such a
// verdict is not counted among those given.
//
// Where only a plan says in what units it wants its texts, the sheet follows it.
func (s *setupService) RenderSheet(ctx context.Context, req *pb.RenderSheetRequest) (*pb.RenderSheetResponse, error) {
	units := req.GetUnitSystem()
	if units == pb.UnitSystem_UNIT_SYSTEM_UNSPECIFIED {
		units = req.GetPlan().GetUnitSystem()
	}
	opt := sheet.Options{Units: system(units), Made: s.now().UTC()}
	if req.GetPaper() == pb.PaperSize_PAPER_SIZE_LETTER {
		opt.Paper = sheet.Letter
	}
	drawn, about, err := s.draw(ctx, req, opt)
	if err != nil {
		return nil, err
	}
	resp := &pb.RenderSheetResponse{}
	extension := ""
	if req.GetFormat() == pb.SheetFormat_SHEET_FORMAT_PDF {
		resp.MediaType, extension = "application/pdf", ".pdf"
		resp.Content, err = drawn.PDF()
	} else {
		resp.MediaType, extension = "text/html; charset=utf-8", ".html"
		resp.Content, err = drawn.HTML()
	}
	if err != nil {
		return nil, err
	}
	resp.FileName = fileStem(req.GetKind(), about.revision, about.vin) + extension
	return resp, nil
}

// subject is the machine that a sheet is about.
type subject struct {
	revision *spec.Revision
	vin      vin.VIN // empty where it is not known, or none
}

// draw makes the sheet that is asked for.
func (s *setupService) draw(ctx context.Context, req *pb.RenderSheetRequest, opt sheet.Options) (*sheet.Sheet, subject, error) {
	if plan := req.GetPlan(); plan != nil {
		if req.GetKind() == pb.SheetKind_SHEET_KIND_HANDOVER {
			return nil, subject{}, badField("plan", reasonNotWithHandover,
				"got a plan for a handover sheet, wanted a record or a stored set-up: it says how the machine was left")
		}
		p, err := s.plan(ctx, "plan.", plan, opt.Units)
		if err != nil {
			return nil, subject{}, err
		}
		opt.VIN, opt.Specified = p.vin.String(), p.resolved
		return sheet.Job(p.plan, opt), subject{p.revision, p.vin}, nil
	}
	j, err := s.judged(ctx, req, opt.Units)
	if err != nil {
		return nil, subject{}, err
	}
	number, err := vin.Parse(j.record.GetUnit().GetVin())
	if err != nil {
		number = "" // the report says so; a sheet is drawn all the same
	}
	about := subject{j.revision, number}
	if req.GetKind() == pb.SheetKind_SHEET_KIND_HANDOVER {
		return sheet.Handover(j.revision, j.resolved, j.record, j.report, opt), about, nil
	}
	p, err := newPlan(j.revision, jobplan.Request{
		Phase:   j.record.GetPhase(),
		Options: j.record.GetOptions(),
		VIN:     number,
		AsOf:    j.report.GetAsOfTime().AsTime(),
		Units:   opt.Units,
	})
	var misfit *jobplan.RequestError
	if errors.As(err, &misfit) {
		if wrong := ofPlan(j.revision, "record.options", j.record.GetOptions(), misfit); len(wrong) > 0 && j.setup != "" {
			return nil, subject{}, &storedError{setup: j.setup, violations: wrong}
		} else if len(wrong) > 0 {
			return nil, subject{}, &fieldError{wrong}
		}
	}
	if err != nil {
		return nil, subject{}, err
	}
	opt.Specified = p.resolved
	return sheet.JobFilled(p.plan, j.record, opt), about, nil
}

// judgedRecord is a record with its full report and what it was judged by.
type judgedRecord struct {
	setup    string // its name, where it is stored
	revision *spec.Revision
	resolved *spec.Resolved
	record   *pb.SetupRecord
	report   *pb.Report
}

// judged judges the record that is sent or stored.
func (s *setupService) judged(ctx context.Context, req *pb.RenderSheetRequest, units quantity.System) (judgedRecord, error) {
	if record := req.GetRecord(); record != nil {
		engine, report, err := s.sheets.judge(ctx, record, record.GetFinishTime(), nil, gauge.Options{Units: units, Full: true})
		if err != nil {
			return judgedRecord{}, err
		}
		return resolved(engine.Revision(), record, report)
	}
	name := req.GetSetup()
	id, ok := store.ParseName(name)
	if !ok {
		return judgedRecord{}, fmt.Errorf("%w: %.80q", store.ErrNotFound, name)
	}
	stored, err := s.store.Get(ctx, id)
	if err != nil {
		return judgedRecord{}, err
	}
	report := stored.Report
	engine, err := s.sheets.thatJudged(ctx, name, report)
	if err != nil {
		return judgedRecord{}, err
	}
	again, err := engine.Gauge(stored.Record, gauge.Options{AsOf: report.GetAsOfTime().AsTime(), Units: units, Full: true})
	if again == nil { // with one, an error is of a rule, and the report tells of it
		// Not wrapped: the revision took the record once, so that it does not now
		// is no fault of the caller.
		return judgedRecord{}, fmt.Errorf("judging %s again: %v", name, err)
	}
	again.Why = report.GetWhy()
	j, err := resolved(engine.Revision(), stored.Record, again)
	j.setup = name
	return j, err
}

// resolved adds what is specified for the machine to a record and its report.
func resolved(revision *spec.Revision, record *pb.SetupRecord, report *pb.Report) (judgedRecord, error) {
	r, err := revision.Resolve(record.GetOptions(), report.GetBulletins())
	if err != nil {
		return judgedRecord{}, err
	}
	return judgedRecord{revision: revision, resolved: r, record: record, report: report}, nil
}

// fileStem names a sheet after its kind, the model, its year and, of one
// machine, the VIN: "snapgauge-job-scree-200i-2026". It has small letters,
// digits and hyphens, and the VIN's capitals.
func fileStem(kind pb.SheetKind, revision *spec.Revision, number vin.VIN) string {
	word := "job"
	if kind == pb.SheetKind_SHEET_KIND_HANDOVER {
		word = "handover"
	}
	model := fileWords(revision.Sheet().GetModel())
	if model == "" {
		model = revision.SpecID()
	}
	parts := []string{"snapgauge", word, model, strconv.Itoa(int(revision.Sheet().GetModelYear()))}
	if number != "" {
		parts = append(parts, number.String())
	}
	return strings.Join(parts, "-")
}

// fileWords is a name with hyphens for all that is no letter or digit of ASCII.
func fileWords(name string) string {
	return strings.Join(strings.FieldsFunc(strings.ToLower(name), func(r rune) bool {
		return (r < 'a' || r > 'z') && (r < '0' || r > '9')
	}), "-")
}

package server

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"

	"google.golang.org/genproto/googleapis/rpc/errdetails"
	"google.golang.org/grpc/codes"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
	"github.com/snapgauge/snapgauge/service/audit"
	"github.com/snapgauge/snapgauge/service/catalogue"
	"github.com/snapgauge/snapgauge/service/gauge"
	"github.com/snapgauge/snapgauge/service/quantity"
	"github.com/snapgauge/snapgauge/service/spec"
)

// task is one record to be judged.
type task struct {
	record     *pb.SetupRecord
	unreadable *pb.UnreadableRecord // in place of a record
	setup      string               // of a stored record
	then       pb.Verdict
	cursor     string // where reading goes on after it
	weight     int64  // bytes, of those that may wait

	entry *audit.Entry
	err   error // ends the audit
	done  chan struct{}
}

// auditJudge judges the records of one audit. It is safe for concurrent use.
type auditJudge struct {
	sheets  *sheets
	check   validator
	options *pb.AuditOptions
	engine  *gauge.Engine // nil where each record's day decides
	units   quantity.System
}

// The reasons of records that cannot be judged, besides those of violations and
// of errors.
const (
	reasonUnreadable = "UNREADABLE"
	reasonSpecUnfit  = "SPEC_UNFIT"
	reasonOtherModel = "OTHER_MODEL"
	reasonNotJudged  = "JUDGING_FAILED"
)

// judge makes the entry of a task. An error ends the audit: the service cannot
// judge now.
func (j *auditJudge) judge(ctx context.Context, t *task) {
	if t.unreadable != nil {
		t.entry = audit.Failed(nil, reasonUnreadable, oneLine(t.unreadable.GetMessage()))
		return
	}
	t.record.Expectation = nil
	t.entry, t.err = j.entry(ctx, t.record)
	var broken *panicError
	switch {
	case errors.As(t.err, &broken):
		// A fault of the service, which the log has: one record's, and not the audit's.
		j.sheets.log.Error("a record of an audit could not be judged", "panic", broken.value, "stack", string(broken.stack))
		t.entry, t.err = audit.Failed(brief(t.record), reasonNotJudged, "the service failed to judge it"), nil
	case t.err != nil:
		if reason, message, ok := ofBadRecord(t.err); ok {
			t.entry, t.err = audit.Failed(brief(t.record), reason, message), nil
		}
	}
	if t.entry != nil {
		t.entry.Setup, t.entry.VerdictThen = t.setup, t.then
	}
}

// brief is what the result of a record says of it. The record may be malformed, and
// megabytes long: nothing is said that cannot be printed, and no text is longer than
// an error may be.
func brief(record *pb.SetupRecord) *pb.SetupRecord {
	b := &pb.SetupRecord{
		Unit:       &pb.Unit{Vin: clip(record.GetUnit().GetVin()), Model: clip(record.GetUnit().GetModel())},
		Shop:       clip(record.GetShop()),
		Technician: clip(record.GetTechnician()),
		Phase:      record.GetPhase(),
	}
	if finish := record.GetFinishTime(); finish.IsValid() {
		b.FinishTime = finish
	}
	return b
}

func (j *auditJudge) entry(ctx context.Context, record *pb.SetupRecord) (_ *audit.Entry, err error) {
	defer catch(&err)
	if err := j.check.record(record); err != nil {
		return nil, err
	}
	asOf := record.GetFinishTime()
	if at := j.options.GetAsOfTime(); at != nil {
		asOf = at
	}
	engine := j.engine
	if engine == nil {
		_, chosen, err := j.sheets.choose(ctx, record.GetUnit(), instantOf(asOf), instantOf(j.options.GetKnownTime()))
		if err != nil {
			return nil, err
		}
		engine = chosen
	} else if sheet := engine.Revision().Sheet(); !names(sheet, record.GetUnit().GetModel()) {
		return nil, &otherModelError{record.GetUnit().GetModel(), sheet.GetModel()}
	}
	return audit.Judge(engine, record, gauge.Options{AsOf: asOf.AsTime(), Units: j.units})
}

// otherModelError says that a record is of another model than the revision that
// is to judge it.
type otherModelError struct{ got, want string }

func (e *otherModelError) Error() string {
	return "unit.model: got " + clip(e.got) + ", and the revision that judges is of " + e.want
}

// names reports whether a record may call a sheet's model so.
func names(sheet *pb.SpecSheet, model string) bool {
	folded := spec.FoldModel(model)
	return slices.ContainsFunc(spec.ModelNames(sheet.GetMake(), sheet.GetModel(), sheet.GetModelAliases()), func(name string) bool {
		return spec.FoldModel(name) == folded
	})
}

// ofBadRecord says why a record cannot be judged, where it is the record that
// is at fault, or the sheets, and not the service.
func ofBadRecord(err error) (reason, message string, ok bool) {
	var (
		unfit *catalogue.UnfitError
		other *otherModelError
		form  *gauge.RecordError
	)
	switch {
	case errors.As(err, &form):
		// As the errors of the shape are told: paths begin in the record.
		first := form.Violations[0]
		message = first.Path + ": " + first.Message
		if more := len(form.Violations) - 1; more > 0 {
			message += fmt.Sprintf(" (and %d more)", more)
		}
		return string(first.Reason), oneLine(message), true
	case errors.As(err, &unfit):
		return reasonSpecUnfit, oneLine(unfit.Name + " cannot be used"), true
	case errors.As(err, &other):
		return reasonOtherModel, oneLine(other.Error()), true
	}
	st, _ := statusOf(err)
	switch st.Code() {
	case codes.InvalidArgument, codes.NotFound, codes.FailedPrecondition:
	default:
		return "", "", false
	}
	message = st.Message()
	for _, detail := range st.Details() {
		switch d := detail.(type) {
		case *errdetails.ErrorInfo:
			reason = d.GetReason()
		case *errdetails.BadRequest:
			if v := d.GetFieldViolations(); len(v) > 0 {
				reason = v[0].GetReason()
			}
		}
	}
	return reason, oneLine(message), true
}

// oneLine makes one line of a text that may hold what a caller sent.
func oneLine(text string) string {
	return clip(strings.Join(strings.Fields(text), " "))
}

package server

import (
	"context"
	"errors"
	"fmt"
	"strconv"
	"strings"
	"time"
	"unicode/utf8"

	"buf.build/go/protovalidate"
	"github.com/google/uuid"
	"google.golang.org/genproto/googleapis/rpc/errdetails"
	"google.golang.org/grpc/codes"
	"google.golang.org/grpc/status"
	"google.golang.org/protobuf/protoadapt"

	"github.com/snapgauge/snapgauge/service/audit"
	"github.com/snapgauge/snapgauge/service/catalogue"
	"github.com/snapgauge/snapgauge/service/formula"
	"github.com/snapgauge/snapgauge/service/gauge"
	"github.com/snapgauge/snapgauge/service/spec"
	"github.com/snapgauge/snapgauge/service/store"
)

// domain is that of every google.rpc.ErrorInfo.
const domain = "snapgauge"

// The reasons of google.rpc.ErrorInfo. They are part of the contract.
const (
	reasonSpecNotFound        = "SPEC_NOT_FOUND"
	reasonNoRevisionInForce   = "NO_REVISION_IN_FORCE"
	reasonSetupNotFound       = "SETUP_NOT_FOUND"
	reasonRequestIDReused     = "REQUEST_ID_REUSED"
	reasonSupersedesNotStored = "SUPERSEDES_NOT_STORED"
	reasonAlreadySuperseded   = "ALREADY_SUPERSEDED"
	reasonRevisionNotHeld     = "REVISION_NOT_HELD"
	reasonFormulaNotFound     = "FORMULA_NOT_FOUND"
	reasonCatalogueStale      = "CATALOGUE_STALE"
	reasonSheetNotLoaded      = "SHEET_NOT_LOADED"
	reasonSpecAmbiguous       = "SPEC_AMBIGUOUS"
	reasonSpecChanged         = "SPEC_CHANGED"
	reasonRevisionNumber      = "REVISION_NUMBER"
	reasonEffectiveTime       = "EFFECTIVE_TIME"
	reasonBaseNotFound        = "BASE_NOT_FOUND"
	reasonCheckpointVersion   = "CHECKPOINT_VERSION"
	reasonAuditsDiffer        = "AUDITS_DIFFER"
)

// The reasons of field violations that are neither a [gauge.Reason] nor the
// identifier of a constraint.
const (
	reasonFilterInvalid     = "FILTER_INVALID"
	reasonPageTokenInvalid  = "PAGE_TOKEN_INVALID"
	reasonTimeInvalid       = "TIME_INVALID"
	reasonNotWithRevision   = "NOT_WITH_REVISION"
	reasonOptionUnknown     = "OPTION_UNKNOWN"
	reasonOptionConflict    = "OPTION_CONFLICT"
	reasonOptionRequires    = "OPTION_REQUIRES"
	reasonVINInvalid        = "VIN_INVALID"
	reasonNotWithHandover   = "NOT_WITH_HANDOVER"
	reasonInputUnknown      = "INPUT_UNKNOWN"
	reasonInputMissing      = "INPUT_MISSING"
	reasonInputInvalid      = "INPUT_INVALID"
	reasonRequestUnreadable = "REQUEST_UNREADABLE"
	reasonSupersedesOther   = "SUPERSEDES_OTHER_UNIT"
	reasonNotToPublish      = "NOT_TO_PUBLISH"
	reasonSheetInvalid      = "SHEET_INVALID"
	reasonResumeToken       = "RESUME_TOKEN_INVALID"
	reasonAuditOrder        = "AUDIT_ORDER"
	reasonCheckpoint        = "CHECKPOINT_INVALID"
)

// Status details travel in the trailer, which many clients limit to 8 KiB. What
// is listed there keeps well below, base64 included.
const (
	maxViolationBytes   = 3 << 10
	maxDescriptionBytes = 512
)

// fieldError says that a request is malformed in a way that its constraints
// cannot show.
type fieldError struct {
	violations []violation
}

// violation is one fault of a request.
type violation struct {
	field, reason, message string
}

func badField(field, reason, format string, args ...any) error {
	return &fieldError{[]violation{{field, reason, fmt.Sprintf(format, args...)}}}
}

func (e *fieldError) Error() string {
	return e.violations[0].field + ": " + e.violations[0].message
}

// unreadableError says that the bytes of a request are not the message that its
// method takes.
type unreadableError struct{ text string }

func (e *unreadableError) Error() string { return "the request cannot be read: " + e.text }

// notHeldError says that a set-up was judged by a revision that is not among the
// sheets in use, or is there with another content.
type notHeldError struct{ setup, revision, digest string }

func (e *notHeldError) Error() string {
	return fmt.Sprintf("%s was judged by %s (SHA-256 %.12s), which is not among the sheets in use", e.setup, e.revision, e.digest)
}

// storedError says that what is asked for cannot be had of a stored record: the
// request is well, the record is not.
type storedError struct {
	setup      string
	violations []violation // at least one
}

func (e *storedError) Error() string {
	said := make([]string, len(e.violations))
	for i, v := range e.violations {
		said[i] = v.field + ": " + v.message
	}
	return e.setup + ": " + strings.Join(said, "; ")
}

// sheetFileError says that a sheet that was handed in is unfit for use.
type sheetFileError struct {
	// problems are at least one: File is the field of the request that the file
	// is in, and Path that in the file.
	problems []spec.Problem
}

func (e *sheetFileError) Error() string { return (&spec.SheetError{Problems: e.problems}).Error() }

// noBaseError says that a derived sheet has no base among what was published.
type noBaseError struct{ base, field string }

func (e *noBaseError) Error() string { return "there is no " + e.base + " to build on" }

// statusOf makes the status of an error of the domain: this is the one place
// that knows both. Where the error is a fault of the service, the status says no
// more than a new request identifier, which is returned too, so that the cause
// can be logged under it.
func statusOf(err error) (st *status.Status, requestID string) {
	var (
		field       *fieldError
		unreadable  *unreadableError
		record      *gauge.RecordError
		shape       *protovalidate.ValidationError
		noSpec      *spec.NotFoundError
		notInForce  *spec.NotInForceError
		noneInForce *catalogue.NotInForceError
		notHeld     *notHeldError
		stored      *storedError
		noFormula   *formula.UnknownError
		sheetFile   *sheetFileError
		noBase      *noBaseError
		stale       *catalogue.StaleError
		behind      *catalogue.BehindError
		notLoaded   *catalogue.LoadError
		version     *audit.VersionError
		differ      *audit.DifferError
		ambiguous   *catalogue.AmbiguousError
		changed     *store.SpecChangedError
		alreadyMade interface{ GRPCStatus() *status.Status }
	)
	switch {
	case errors.As(err, &field):
		return badRequest(field.violations), ""
	case errors.As(err, &unreadable):
		return badRequest([]violation{{"", reasonRequestUnreadable, unreadable.Error()}}), ""
	case errors.As(err, &sheetFile):
		return badRequest(ofSheetFile(sheetFile)), ""
	case errors.As(err, &stale):
		// Asked before the errors that it wraps: those may be of a context that is
		// not the caller's. Why the store does not answer is not the caller's
		// business either; whoever runs the catalogue has it in the log.
		return withInfo(codes.Unavailable, ofStale(stale), reasonCatalogueStale, map[string]string{
			"age": stale.Age.Round(time.Millisecond).String(),
			"max": stale.Max.String(),
		}), ""
	case errors.As(err, &behind):
		return withInfo(codes.Unavailable, fmt.Sprintf("stored as change %d, but not in use here yet: the same again settles it", behind.Position),
			reasonCatalogueStale, nil), ""
	case errors.As(err, &notLoaded):
		// Like a stale catalogue: the store is at fault, and it passes.
		return withInfo(codes.Unavailable, notLoaded.Name+" cannot be read from the store now", reasonSheetNotLoaded,
			map[string]string{"spec_revision": notLoaded.Name}), ""
	case errors.Is(err, audit.ErrDamaged):
		return badRequest([]violation{{"checkpoint", reasonCheckpoint, err.Error()}}), ""
	case errors.As(err, &version):
		return withInfo(codes.FailedPrecondition, version.Error(), reasonCheckpointVersion, nil), ""
	case errors.As(err, &differ):
		return withInfo(codes.FailedPrecondition, differ.Error(), reasonAuditsDiffer, nil), ""
	case errors.As(err, &noBase):
		return withInfo(codes.FailedPrecondition, noBase.Error(), reasonBaseNotFound, map[string]string{"base": noBase.base, "field": noBase.field}), ""
	case errors.As(err, &changed):
		return withInfo(codes.Aborted, changed.Error(), reasonSpecChanged, map[string]string{
			"spec":     store.SpecName(changed.SpecID),
			"revision": strconv.Itoa(changed.Revision),
			"etag":     changed.Etag,
		}), ""
	case errors.Is(err, store.ErrRevisionNumber):
		return withInfo(codes.FailedPrecondition, err.Error(), reasonRevisionNumber, nil), ""
	case errors.Is(err, store.ErrEffectiveTime):
		return withInfo(codes.FailedPrecondition, err.Error(), reasonEffectiveTime, nil), ""
	case errors.As(err, &ambiguous):
		return withInfo(codes.FailedPrecondition, ambiguous.Error(), reasonSpecAmbiguous, map[string]string{
			"specs": strings.Join(ambiguous.SpecIDs, "\n"),
		}), ""
	case errors.As(err, &record):
		return badRequest(ofRecord(record)), ""
	case errors.As(err, &shape):
		return badRequest(ofShape(shape)), ""
	case errors.As(err, &noSpec):
		return withInfo(codes.NotFound, noSpec.Error(), reasonSpecNotFound, suggesting(noSpec.What, noSpec.Suggestions)), ""
	case errors.As(err, &noneInForce):
		return withInfo(codes.FailedPrecondition, noneInForce.Error(), reasonNoRevisionInForce, ofNotInForce(&noneInForce.NotInForceError)), ""
	case errors.As(err, &notInForce):
		return withInfo(codes.FailedPrecondition, notInForce.Error(), reasonNoRevisionInForce, ofNotInForce(notInForce)), ""
	case errors.As(err, &notHeld):
		return withInfo(codes.FailedPrecondition, notHeld.Error(), reasonRevisionNotHeld, map[string]string{
			"spec_revision": notHeld.revision,
			"digest":        notHeld.digest,
		}), ""
	case errors.As(err, &stored):
		return withInfo(codes.FailedPrecondition, stored.Error(), stored.violations[0].reason, map[string]string{
			"setup": stored.setup,
		}), ""
	case errors.As(err, &noFormula):
		return withInfo(codes.NotFound, noFormula.Error(), reasonFormulaNotFound, suggesting(noFormula.Name, noFormula.Suggestions)), ""
	case errors.Is(err, store.ErrNotFound):
		return withInfo(codes.NotFound, err.Error(), reasonSetupNotFound, nil), ""
	case errors.Is(err, store.ErrRequestReused):
		return withInfo(codes.AlreadyExists, err.Error(), reasonRequestIDReused, nil), ""
	case errors.Is(err, store.ErrSupersedesMissing):
		return withInfo(codes.FailedPrecondition, err.Error(), reasonSupersedesNotStored, nil), ""
	case errors.Is(err, store.ErrAlreadySuperseded):
		return withInfo(codes.FailedPrecondition, err.Error(), reasonAlreadySuperseded, nil), ""
	case errors.Is(err, store.ErrClosed), errors.Is(err, catalogue.ErrClosed):
		return status.New(codes.Unavailable, "the service is shutting down"), ""
	case errors.Is(err, context.Canceled):
		return status.New(codes.Canceled, "the call was cancelled"), ""
	case errors.Is(err, context.DeadlineExceeded):
		return status.New(codes.DeadlineExceeded, "the call took too long"), ""
	case errors.As(err, &alreadyMade):
		// Of gRPC itself, or of its health and reflection services.
		return alreadyMade.GRPCStatus(), ""
	}
	requestID = uuid.NewString()
	return withDetails(
		status.New(codes.Internal, "internal error; request "+requestID),
		&errdetails.RequestInfo{RequestId: requestID},
	), requestID
}

// ofSheetFile gives the problems of a sheet as violations of the request that it
// was handed in with.
func ofSheetFile(e *sheetFileError) []violation {
	violations := make([]violation, len(e.problems))
	for i, p := range e.problems {
		violations[i] = violation{joinField(p.File, p.Path), reasonSheetInvalid, p.Message}
	}
	return violations
}

// ofRecord gives the violations of a record as violations of the request that
// it stands in.
func ofRecord(e *gauge.RecordError) []violation {
	violations := make([]violation, len(e.Violations))
	for i, v := range e.Violations {
		field := "record"
		if v.Path != "" {
			field += "." + v.Path
		}
		violations[i] = violation{field, string(v.Reason), v.Message}
	}
	return violations
}

func ofShape(e *protovalidate.ValidationError) []violation {
	violations := make([]violation, len(e.Violations))
	for i, v := range e.Violations {
		message := v.Proto.GetMessage()
		if message == "" {
			message = "breaks the constraint " + v.Proto.GetRuleId()
		}
		violations[i] = violation{
			field:   protovalidate.FieldPathString(v.Proto.GetField()),
			reason:  v.Proto.GetRuleId(),
			message: message,
		}
	}
	return violations
}

// badRequest is INVALID_ARGUMENT with the violations, as many as there is room
// for; its message tells the first and how many there are.
func badRequest(violations []violation) *status.Status {
	first := violations[0]
	message := clip(first.message)
	if first.field != "" {
		message = clip(first.field) + ": " + message
	}
	details := &errdetails.BadRequest{}
	room := maxViolationBytes
	for _, v := range violations {
		v.field, v.message = clip(v.field), clip(v.message)
		room -= len(v.field) + len(v.reason) + len(v.message) + 8
		if room < 0 {
			break
		}
		details.FieldViolations = append(details.FieldViolations, &errdetails.BadRequest_FieldViolation{
			Field: v.field, Description: v.message, Reason: v.reason,
		})
	}
	if more := len(violations) - 1; more > 0 {
		message += fmt.Sprintf(" (and %d more", more)
		if listed := len(details.FieldViolations); listed <= more {
			message += fmt.Sprintf("; the first %d are listed", listed)
		}
		message += ")"
	}
	return withDetails(status.New(codes.InvalidArgument, message), details)
}

// ofStale says what its error says, without the cause.
func ofStale(e *catalogue.StaleError) string {
	if e.Max == 0 {
		return "the sheets in use cannot be brought up to date now: try again"
	}
	return fmt.Sprintf("the sheets in use were last known to be current %v ago, wanted at most %v: try again",
		e.Age.Round(time.Millisecond), e.Max)
}

func ofNotInForce(e *spec.NotInForceError) map[string]string {
	return map[string]string{"spec": e.Spec, "first_time": e.First.UTC().Format(time.RFC3339)}
}

// suggesting is the metadata of what was not found: what was asked for, and the
// names near it, one to a line.
func suggesting(asked string, suggestions []string) map[string]string {
	metadata := map[string]string{"asked": clip(asked)}
	if len(suggestions) > 0 {
		metadata["suggestions"] = strings.Join(suggestions, "\n")
	}
	return metadata
}

func withInfo(code codes.Code, message, reason string, metadata map[string]string) *status.Status {
	return withDetails(status.New(code, clip(message)),
		&errdetails.ErrorInfo{Reason: reason, Domain: domain, Metadata: metadata})
}

// withDetails adds a detail; without it where it cannot be encoded, for the
// code says most.
func withDetails(st *status.Status, detail protoadapt.MessageV1) *status.Status {
	if detailed, err := st.WithDetails(detail); err == nil {
		return detailed
	}
	return st
}

// clip bounds a text that may hold what a caller sent.
func clip(text string) string {
	text = strings.ToValidUTF8(text, "\uFFFD")
	if len(text) <= maxDescriptionBytes {
		return text
	}
	end := maxDescriptionBytes
	for !utf8.RuneStart(text[end]) {
		end--
	}
	return text[:end] + "…"
}

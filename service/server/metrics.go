package server

import (
	"context"
	"errors"
	"time"

	"github.com/prometheus/client_golang/prometheus"
	"google.golang.org/grpc"
	"google.golang.org/grpc/status"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
	"github.com/snapgauge/snapgauge/service/audit"
	"github.com/snapgauge/snapgauge/service/catalogue"
	"github.com/snapgauge/snapgauge/service/phrase"
	"github.com/snapgauge/snapgauge/service/store"
)

// metrics counts calls and what was found. Labels come from the contract, never
// from a caller, so their number is bounded.
type metrics struct {
	requests *prometheus.CounterVec   // method, code
	seconds  *prometheus.HistogramVec // method
	verdicts *prometheus.CounterVec   // verdict
	findings *prometheus.CounterVec   // code
	records  *prometheus.CounterVec   // result
	audits   prometheus.Gauge
}

// newMetrics registers the metrics; with a nil registerer they are only kept.
func newMetrics(registerer prometheus.Registerer, live *catalogue.Catalogue) (*metrics, error) {
	m := &metrics{
		requests: prometheus.NewCounterVec(prometheus.CounterOpts{
			Name: "snapgauge_grpc_requests_total",
			Help: "Calls finished, by method and gRPC status code.",
		}, []string{"method", "code"}),
		seconds: prometheus.NewHistogramVec(prometheus.HistogramOpts{
			Name:    "snapgauge_grpc_request_duration_seconds",
			Help:    "Time from the decoded request to the answer, by method.",
			Buckets: []float64{.0001, .00025, .0005, .001, .0025, .005, .01, .025, .05, .1, .25, .5, 1, 2.5, 5, 10},
		}, []string{"method"}),
		verdicts: prometheus.NewCounterVec(prometheus.CounterOpts{
			Name: "snapgauge_verdicts_total",
			Help: "Records judged, by verdict. A repeated submit counts once; those of audits are not counted.",
		}, []string{"verdict"}),
		findings: prometheus.NewCounterVec(prometheus.CounterOpts{
			Name: "snapgauge_findings_total",
			Help: "Findings in the reports on judged records, by finding code. Those of audits are not counted.",
		}, []string{"code"}),
		records: prometheus.NewCounterVec(prometheus.CounterOpts{
			Name: "snapgauge_audit_records_total",
			Help: "Records that audits answered, by result: judged, or error where they could not be. One that is sent again after a checkpoint counts again.",
		}, []string{"result"}),
		audits: prometheus.NewGauge(prometheus.GaugeOpts{
			Name: "snapgauge_audits_in_progress",
			Help: "Audits under way, of records that are sent and of stored set-ups.",
		}),
	}
	for _, v := range store.FieldVerdict.Values() {
		m.verdicts.WithLabelValues(v) // so that a rate has its nought
	}
	for _, result := range []string{auditJudged, auditError} {
		m.records.WithLabelValues(result)
	}
	if registerer == nil {
		return m, nil
	}
	errs := []error{
		registerer.Register(m.requests), registerer.Register(m.seconds),
		registerer.Register(m.verdicts), registerer.Register(m.findings),
		registerer.Register(m.records), registerer.Register(m.audits),
	}
	for _, c := range ofCatalogue(live) {
		errs = append(errs, registerer.Register(c))
	}
	return m, errors.Join(errs...)
}

// ofCatalogue tells how the catalogue is doing.
func ofCatalogue(live *catalogue.Catalogue) []prometheus.Collector {
	return []prometheus.Collector{
		prometheus.NewCounterFunc(prometheus.CounterOpts{
			Name: "snapgauge_spec_changes_total",
			Help: "Changes of specs that are in use here, counted from the first that the store has.",
		}, func() float64 { return float64(live.Position()) }),
		prometheus.NewGaugeFunc(prometheus.GaugeOpts{
			Name: "snapgauge_catalogue_lag_seconds",
			Help: "Time since the sheets in use were last known to be those of the store.",
		}, func() float64 { return live.Stats().Age.Seconds() }),
		prometheus.NewGaugeFunc(prometheus.GaugeOpts{
			Name: "snapgauge_engines_loaded",
			Help: "Compiled sheets that are kept ready to judge.",
		}, func() float64 { return float64(live.Stats().Engines) }),
	}
}

// judged counts one report.
func (m *metrics) judged(report *pb.Report) {
	m.verdicts.WithLabelValues(store.VerdictName(report.GetVerdict())).Inc()
	for _, f := range report.GetFindings() {
		m.findings.WithLabelValues(phrase.Name(f.GetCode())).Inc()
	}
}

// The results of records in an audit.
const (
	auditJudged = "judged"
	auditError  = "error"
)

// audited counts one record of an audit. Its verdict is not counted with those of
// the work that is going on: an audit looks back, and may do so often.
func (m *metrics) audited(e *audit.Entry) {
	result := auditJudged
	if e.Report() == nil {
		result = auditError
	}
	m.records.WithLabelValues(result).Inc()
}

func (m *metrics) unary(ctx context.Context, req any, info *grpc.UnaryServerInfo, handler grpc.UnaryHandler) (any, error) {
	start := time.Now()
	resp, err := handler(ctx, req)
	m.finish(info.FullMethod, start, err)
	return resp, err
}

// stream counts streams, but does not time them: they last as long as the
// caller likes.
func (m *metrics) stream(srv any, ss grpc.ServerStream, info *grpc.StreamServerInfo, handler grpc.StreamHandler) error {
	err := handler(srv, ss)
	m.requests.WithLabelValues(info.FullMethod, status.Code(err).String()).Inc()
	return err
}

func (m *metrics) finish(method string, start time.Time, err error) {
	m.requests.WithLabelValues(method, status.Code(err).String()).Inc()
	m.seconds.WithLabelValues(method).Observe(time.Since(start).Seconds())
}

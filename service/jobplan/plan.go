package jobplan

import (
	"fmt"
	"math"
	"slices"

	"google.golang.org/protobuf/types/known/timestamppb"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
	"github.com/snapgauge/snapgauge/service/phrase"
	"github.com/snapgauge/snapgauge/service/spec"
)

// job is a plan in the making.
type job struct {
	req      Request
	phase    pb.Phase
	sheet    *pb.SpecSheet
	resolved *spec.Resolved
	// asDelivered holds the sheet's characteristics before options and bulletins,
	// fitted those after them.
	asDelivered, fitted map[string]*pb.Characteristic
	steps               []*step
	byID                map[string]*step
	supplies            supplies
	plan                *pb.JobPlan
}

// step is a step in the making.
type step struct {
	*pb.PlanStep
	c      *pb.Characteristic
	figure figure // where the characteristic has limits
	// more is said after the target.
	more string
}

// Make plans the job on one machine.
//
// It returns a *[RequestError] for a phase or options that do not fit the sheet.
// Any other error would be one of the revision itself, which [spec] rules out.
func Make(rev *spec.Revision, req Request) (*pb.JobPlan, error) {
	phase := req.Phase
	if phase == pb.Phase_PHASE_UNSPECIFIED {
		phase = pb.Phase_PHASE_PRE_DELIVERY
	}
	resolved, err := rev.Resolve(req.Options, rev.Bulletins(req.VIN, req.AsOf))
	if err != nil {
		return nil, fmt.Errorf("planning by %s: %w", rev.Name(), err)
	}
	if refused := refusal(rev, phase, resolved); refused != nil {
		return nil, refused
	}
	sheet := rev.Sheet()
	j := &job{
		req:         req,
		phase:       phase,
		sheet:       sheet,
		resolved:    resolved,
		asDelivered: byID(sheet.GetCharacteristics()),
		fitted:      byID(resolved.Characteristics),
		byID:        make(map[string]*step),
		plan: &pb.JobPlan{
			SpecRevision: rev.Name(),
			Digest:       rev.Digest(),
			Machine:      fmt.Sprintf("%s %s, %d, %s", sheet.GetMake(), sheet.GetModel(), sheet.GetModelYear(), sheet.GetMarket()),
			Phase:        phase,
			Options:      resolved.Options,
			Invented:     sheet.GetInvented(),
		},
	}
	if !req.AsOf.IsZero() {
		j.plan.AsOfTime = timestamppb.New(req.AsOf)
	}
	j.cautionsOfSheet()
	j.takeSteps(inWalkingOrder(selection(resolved.Characteristics, phase, j.moved), j.moved))

	j.safeFills()
	j.premix()
	j.suspension()
	j.tyres()
	j.jetting()
	j.engineOils()
	j.roadUse()

	j.finish()
	return j.plan, nil
}

func byID(characteristics []*pb.Characteristic) map[string]*pb.Characteristic {
	m := make(map[string]*pb.Characteristic, len(characteristics))
	for _, c := range characteristics {
		m[c.GetId()] = c
	}
	return m
}

// moved returns the characteristics that an adjuster moves: the one that it says,
// and where that is one of the rear suspension's two sags, the other as well.
func (j *job) moved(c *pb.Characteristic) []string {
	id := c.GetAdjuster().GetMoves().GetCharacteristic()
	if id == "" {
		return nil
	}
	if s := j.sheet.GetPlanning().GetRearSuspension(); s != nil {
		sags := []string{s.GetStaticSagCharacteristic(), s.GetRaceSagCharacteristic()}
		if slices.Contains(sags, id) {
			return sags
		}
	}
	return []string{id}
}

func (j *job) takeSteps(characteristics []*pb.Characteristic) {
	for i, c := range characteristics {
		f, _ := figureOf(c)
		s := &step{c: c, figure: f, PlanStep: &pb.PlanStep{
			Number:         int32(i + 1),
			Characteristic: c.GetId(),
			DisplayName:    c.GetDisplayName(),
			Place:          phrase.Place(c.GetGroup()),
			Method:         c.GetMethod(),
			Tools:          slices.Clone(c.GetTools()),
			Caution:        c.GetCaution(),
			Severity:       c.GetSeverity(),
			Source:         c.GetSource(),
		}}
		for _, condition := range c.GetReferenceConditions() {
			s.Conditions = append(s.Conditions, phrase.Condition(condition))
		}
		for _, id := range c.GetPrerequisites() {
			if earlier, ok := j.byID[id]; ok {
				s.After = append(s.After, earlier.Number)
			}
		}
		slices.Sort(s.After)
		j.steps = append(j.steps, s)
		j.byID[c.GetId()] = s
	}
}

// finish writes the plan out once every target is known.
func (j *job) finish() {
	for _, s := range j.steps {
		s.TargetText = targetText(s.c, s.figure, j.req.Units) + s.more
		if s.c.GetLimits() != nil {
			f := s.figure
			if !math.IsNaN(f.target) {
				s.Target = f.Dual(f.target)
			}
			if !math.IsInf(f.lower, 0) {
				s.Lower = f.Dual(f.lower)
			}
			if !math.IsInf(f.upper, 0) {
				s.Upper = f.Dual(f.upper)
			}
		}
		for _, tool := range s.Tools {
			if !slices.Contains(j.plan.Tools, tool) {
				j.plan.Tools = append(j.plan.Tools, tool)
			}
		}
		j.supplies.forStep(s)
		j.plan.Steps = append(j.plan.Steps, s.PlanStep)
	}
	j.plan.Consumables = j.supplies.consumables()
}

// cautionsOfSheet takes over what the sheet and the fitted options say.
func (j *job) cautionsOfSheet() {
	for _, caution := range j.sheet.GetCautions() {
		j.caution(caution)
	}
	for _, option := range j.options() {
		if option.GetCaution() != "" {
			j.caution(phrase.Sentence("%s: %s", option.GetDisplayName(), phrase.LowerFirst(option.GetCaution())))
		}
	}
}

// options returns the fitted options in sheet order.
func (j *job) options() []*pb.Option {
	var fitted []*pb.Option
	for _, option := range j.sheet.GetOptions() {
		if slices.Contains(j.resolved.Options, option.GetId()) {
			fitted = append(fitted, option)
		}
	}
	return fitted
}

func (j *job) caution(sentence string) {
	if !slices.Contains(j.plan.Cautions, sentence) {
		j.plan.Cautions = append(j.plan.Cautions, sentence)
	}
}

// leftOut tells that something was not worked out. what begins a sentence.
func (j *job) leftOut(what string, why error) {
	j.caution(phrase.Sentence("%s was not worked out: %v", what, why))
}

func (j *job) add(c calculation) { j.plan.Calculations = append(j.plan.Calculations, c.Calculation) }

// fittedFigure returns the figure that the fitted options make of a figure of the
// planning data: that of its counterpart, the first characteristic that stated it
// when the machine was delivered. stated reads the figure that a characteristic
// states. Without a counterpart, or with one that no longer states a figure, the
// id is empty and the figure that of the planning data.
func (j *job) fittedFigure(planned float64, stated func(*pb.Characteristic) (float64, bool)) (v float64, id string) {
	for _, c := range j.sheet.GetCharacteristics() {
		v, ok := stated(c)
		if !ok || !same(v, planned) {
			continue
		}
		if now, ok := j.fitted[c.GetId()]; ok {
			if v, ok := stated(now); ok {
				if same(v, planned) {
					v = planned // the same, but for the rounding of another unit
				}
				return v, c.GetId()
			}
		}
		return planned, ""
	}
	return planned, ""
}

// same reports whether two figures are the same in other units, both rounded: 66
// N/mm and 377 lbf/in.
func same(a, b float64) bool { return math.Abs(a-b) <= 0.005*math.Abs(b) }

package gauge

import (
	"fmt"
	"strings"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
	"github.com/snapgauge/snapgauge/service/phrase"
	"github.com/snapgauge/snapgauge/service/spec"
)

// judgeFastener compares what is fitted with what is specified, then the torque.
func (r *run) judgeFastener(ck *check, s *slot) {
	want, got := ck.c.GetFastener(), s.reading.GetFitted()
	describe := describeFastener(want)
	replace := func(f *pb.Finding, text string) {
		s.worsen(nonconforming)
		f.Remedy = r.remedy(pb.RemedyAction_REMEDY_ACTION_REPLACE, ck, text)
	}
	if thread := got.GetThread(); thread != "" && !spec.SameThread(thread, want.GetThread()) {
		replace(r.find(pb.FindingCode_FINDING_CODE_FASTENER_WRONG_THREAD, ck, s,
			fmt.Sprintf("%s: thread %q, specified %s.", ck.name(), thread, want.GetThread())),
			phrase.Sentence("Look at the thread it was forced into, then fit %s", describe))
	}
	if class := got.GetPropertyClass(); class != "" && want.GetPropertyClass() != "" && !spec.SameWord(class, want.GetPropertyClass()) {
		replace(r.find(pb.FindingCode_FINDING_CODE_FASTENER_WRONG_CLASS, ck, s,
			fmt.Sprintf("%s: property class %q, specified %s.", ck.name(), class, want.GetPropertyClass())),
			phrase.Sentence("Fit %s", describe))
	}
	if want.GetRenew() && got != nil && got.Renewed != nil && !got.GetRenewed() {
		replace(r.find(pb.FindingCode_FINDING_CODE_FASTENER_NOT_RENEWED, ck, s,
			fmt.Sprintf("%s: the part that must be new each time was used again.", ck.name())),
			phrase.Sentence("Fit a new one, then tighten to %s", r.sayValue(ck, ck.target())))
	}
	if want.GetLocking() != pb.Locking_LOCKING_UNSPECIFIED && got != nil && got.Locked != nil && !got.GetLocked() {
		replace(r.find(pb.FindingCode_FINDING_CODE_FASTENER_NOT_LOCKED, ck, s,
			fmt.Sprintf("%s: not locked by %s.", ck.name(), phrase.Locking(want.GetLocking()))),
			phrase.Sentence("Take it out, clean the thread, lock it by %s and tighten to %s", phrase.Locking(want.GetLocking()), r.sayValue(ck, ck.target())))
	}
	r.fastenerShown(ck, s, want, got)
	if s.reading.GetResult() == nil {
		s.worsen(missing)
		r.missingReading(ck)
		return
	}
	f := r.judgeLimits(ck, s)
	if f == nil {
		return
	}
	target := r.sayValue(ck, ck.target())
	it := "it"
	if want.GetPieces() > 1 {
		it = "each"
	}
	how := fmt.Sprintf("to %s%s", target, lubricated(want.GetLubrication()))
	text := phrase.Sentence("Loosen %s, then tighten %s %s", it, it, how)
	if s.value > ck.tolerance.Upper {
		text = phrase.Sentence("Loosen %s, look at thread and shank, fit a new one if either is drawn, then tighten %s %s", it, it, how)
	}
	f.Remedy = r.remedy(pb.RemedyAction_REMEDY_ACTION_RETIGHTEN, ck, text)
	f.Remedy.Amount = r.dualDifference(ck, abs(s.value-ck.target()))
	f.Remedy.Target = r.dualValue(ck, ck.target())
}

// fastenerShown tells of a record that is silent on what the sheet asks for
// besides the torque. Silence does not show that it was done.
func (r *run) fastenerShown(ck *check, s *slot, want *pb.Fastener, got *pb.FittedFastener) {
	var unsaid []string
	if want.GetRenew() && (got == nil || got.Renewed == nil) {
		unsaid = append(unsaid, "whether the part that must be new each time was renewed")
	}
	if lockedByAct(want.GetLocking()) && (got == nil || got.Locked == nil) {
		unsaid = append(unsaid, "whether it is locked by "+phrase.Locking(want.GetLocking()))
	}
	if len(unsaid) == 0 {
		return
	}
	s.worsen(undecided)
	f := r.find(pb.FindingCode_FINDING_CODE_FASTENER_NOT_SHOWN, ck, s,
		fmt.Sprintf("%s: the record does not say %s.", ck.name(), phrase.All(unsaid)))
	f.Remedy = r.remedy(pb.RemedyAction_REMEDY_ACTION_CORRECT_RECORD, ck,
		"Say so in the reading: fitted, with renewed and locked true or false.")
}

// lockedByAct says whether a locking is something done besides tightening. A
// prevailing-torque nut locks by being there, and a lock nut's torque is its
// locking.
func lockedByAct(l pb.Locking) bool {
	switch l {
	case pb.Locking_LOCKING_UNSPECIFIED, pb.Locking_LOCKING_PREVAILING_TORQUE_NUT, pb.Locking_LOCKING_JAM_NUT:
		return false
	}
	return true
}

// showsFastener says whether a reading says anything of the fastener that is
// fitted.
func (ck *check) showsFastener(reading *pb.Reading) bool {
	return ck.kind == fastener && reading.GetFitted() != nil
}

func describeFastener(f *pb.Fastener) string {
	parts := []string{f.GetThread()}
	if f.GetDriveSizeMm() > 0 {
		parts = append(parts, fmt.Sprintf("%s %g mm", phrase.Drive(f.GetDrive()), f.GetDriveSizeMm()))
	}
	if f.GetPropertyClass() != "" {
		parts = append(parts, "class "+f.GetPropertyClass())
	}
	return strings.Join(parts, ", ")
}

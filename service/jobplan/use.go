package jobplan

import (
	"regexp"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
	"github.com/snapgauge/snapgauge/service/phrase"
)

var (
	// roadEquipment finds, by their names, the checks of what a machine needs on
	// the road.
	roadEquipment = regexp.MustCompile(`(?i)\b(?:head ?lamps?|headlights?|tail ?lamps?|brake lamps?|lights|indicators?|turn signals?|horn|mirrors?|reflectors?|speedometer|number plate)\b`)
	// offRoadOnly finds what an option says of itself.
	offRoadOnly = regexp.MustCompile(`(?i)\b(?:off[ -]highway|off the (?:public )?road|off[ -]road|closed courses?|not for (?:use on )?the road|competition only)\b`)
)

// roadUse warns of fitted options that go against use on the road. Other uses
// change nothing: a sheet has one target for all.
func (j *job) roadUse() {
	if j.req.Use != pb.IntendedUse_INTENDED_USE_ROAD {
		return
	}
	for _, option := range j.options() {
		var gone []string
		for _, id := range option.GetAmendment().GetRemove() {
			if name := j.asDelivered[id].GetDisplayName(); roadEquipment.MatchString(name) {
				gone = append(gone, phrase.LowerFirst(name))
			}
		}
		switch {
		case len(gone) > 0:
			j.caution(phrase.Sentence("Not fit for the road as it is to be fitted: with %s, these are gone: %s",
				phrase.LowerFirst(option.GetDisplayName()), phrase.All(gone)))
		case offRoadOnly.MatchString(option.GetDisplayName() + " " + option.GetDescription()):
			j.caution(phrase.Sentence("Planned for the road, but of %s the sheet says: %s",
				phrase.LowerFirst(option.GetDisplayName()), option.GetDescription()))
		}
	}
}

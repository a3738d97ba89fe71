package formula

import (
	"slices"
	"strconv"

	"github.com/snapgauge/snapgauge/service/workshop"
)

const (
	chainFormula = "the handbook chain-length formula, as the chain makers' engineering guides print it"
	chainCaution = "A chain that is too tight breaks gearbox and wheel bearings, one that is too slack jumps off. The manual says where to measure; measure again after tightening the axle."
)

// pitchInputs say what a chain's pitch is; [pitchOf] reads them.
var pitchInputs = []input{
	{name: "size", optional: true, choices: chainSizes, what: "Size number of the chain; or give the pitch"},
	{name: "chain_pitch", unit: "mm", optional: true, param: "pitchMM", what: "Pitch of the chain, pin to pin"},
}

var chainSizes = []string{"415", "420", "428", "520", "525", "530"}

func chainSizeOf(a *arguments) (workshop.ChainDimensions, error) {
	n, err := strconv.Atoi(a.choice("size"))
	if err != nil {
		return workshop.ChainDimensions{}, err
	}
	return workshop.ChainSize(n)
}

func pitchOf(a *arguments) (mm float64, err error) {
	if err := a.exactlyOne("size", "chain_pitch"); err != nil {
		return 0, err
	}
	if a.has("chain_pitch") {
		return a.num("chain_pitch"), nil
	}
	d, err := chainSizeOf(a)
	return d.PitchMM, err
}

// withPitch finds the pitch first.
func withPitch(work func(a *arguments, pitchMM float64) (outputs, error)) func(*arguments) (outputs, error) {
	return func(a *arguments) (outputs, error) {
		pitch, err := pitchOf(a)
		if err != nil {
			return nil, err
		}
		return work(a, pitch)
	}
}

var (
	sprocketInputs = []input{
		{name: "front", unit: "{tooth}", whole: true, param: "frontTeeth", what: "Teeth of the gearbox sprocket"},
		{name: "rear", unit: "{tooth}", whole: true, param: "rearTeeth", what: "Teeth of the rear sprocket"},
	}
	linksMeasured = input{name: "links", unit: "{link}", whole: true, param: "links", what: "Links measured over: twenty from a pin to the twenty-first"}
	spanInput     = input{name: "span", unit: "mm", param: "spanMM", what: "Free length of the run, about the centre distance"}
	slackInput    = input{name: "slack", unit: "mm", param: "slackMM", what: "Whole movement up and down at mid-span, the other run tight"}
)

var chain = []Formula{
	{
		name: "chain-size", topic: "chain",
		description: "The dimensions behind a motorcycle chain's size number.",
		source:      "ISO 10190 and, for 428 and 530, ISO 606 08B and 10A, read from two published tables of chain dimensions",
		inputs:      []input{{name: "size", choices: chainSizes, what: "Size number of the chain"}},
		results: []result{
			{name: "pitch", unit: "mm", digits: 5, what: "Distance from pin to pin"},
			{name: "inner_width", unit: "mm", what: "Nominal width between the inner plates; the standards' smallest is up to 0.2 mm less"},
			{name: "roller", unit: "mm", what: "Largest roller diameter"},
		},
		work: func(a *arguments) (outputs, error) {
			d, err := chainSizeOf(a)
			return outputs{number(d.PitchMM), number(d.InnerWidthMM), number(d.RollerMM)}, err
		},
	},
	{
		name: "chain-links", topic: "chain",
		description: "How many links a chain round two sprockets needs on a centre distance.",
		source:      chainFormula,
		inputs: slices.Concat([]input{
			{name: "centre_distance", unit: "mm", param: "centreMM", what: "Between the axes of the sprockets"},
		}, pitchInputs, sprocketInputs),
		results: []result{
			{name: "links", unit: "{link}", digits: 5, what: "Length, fractional"},
			{name: "even_links", unit: "{link}", what: "The next even number, which a chain with one joining link can have"},
		},
		work: withPitch(func(a *arguments, pitch float64) (outputs, error) {
			links, err := workshop.ChainLinks(a.num("centre_distance"), pitch, a.count("front"), a.count("rear"))
			if err != nil {
				return nil, err
			}
			even, err := workshop.EvenLinks(links)
			return outputs{number(links), number(float64(even))}, blame("centre_distance", err)
		}),
	},
	{
		name: "even-links", topic: "chain",
		description: "The number of links that a chain with one joining link can have for a computed length.",
		source:      "common practice, as the chain makers' engineering guides state it",
		inputs:      []input{{name: "links", unit: "{link}", param: "links", what: "Computed length, fractional"}},
		results:     []result{{name: "even_links", unit: "{link}", what: "The next even whole number"}},
		work: func(a *arguments) (outputs, error) {
			even, err := workshop.EvenLinks(a.num("links"))
			return outputs{number(float64(even))}, err
		},
	},
	{
		name: "chain-centre", topic: "chain",
		description: "The centre distance at which a chain runs without slack round two sprockets.",
		source:      chainFormula + ", solved for the centre distance",
		inputs: slices.Concat([]input{
			{name: "links", unit: "{link}", param: "links", what: "Length of the chain in links"},
		}, pitchInputs, sprocketInputs),
		results: []result{{name: "centre_distance", unit: "mm", what: "Between the axes of the sprockets"}},
		work: withPitch(func(a *arguments, pitch float64) (outputs, error) {
			return one(workshop.ChainCentre(a.num("links"), pitch, a.count("front"), a.count("rear")))
		}),
	},
	{
		name: "chain-elongation", topic: "chain",
		description: "How far a chain has worn, from its length over a number of links.",
		source:      "ISO 606, chain length measurement, in principle; closed form",
		caution:     "Measure with the chain pulled tight, at several places: a chain wears unevenly.",
		inputs: slices.Concat([]input{
			{name: "measured", unit: "mm", param: "measuredMM", what: "Length, pin centre to pin centre"},
			linksMeasured,
		}, pitchInputs),
		results: []result{{name: "elongation", unit: "%", digits: 3, what: "Wear, as a share of the nominal length"}},
		work: withPitch(func(a *arguments, pitch float64) (outputs, error) {
			return one(workshop.ChainElongation(a.num("measured"), pitch, a.count("links")))
		}),
	},
	{
		name: "chain-wear-limit", topic: "chain",
		description: "The length over a number of links at which a chain is worn out.",
		source:      closedForm + "; usual limits, " + commonPractice,
		caution:     "Usual limits are 2 % for a plain chain and 1 % for a sealed one; the chain maker's governs.",
		inputs: slices.Concat(pitchInputs, []input{linksMeasured,
			{name: "limit", unit: "%", param: "limitPercent", what: "Elongation at which it is worn out"},
		}),
		results: []result{{name: "length", unit: "mm", what: "Length, pin centre to pin centre"}},
		work: withPitch(func(a *arguments, pitch float64) (outputs, error) {
			return one(workshop.ChainWearLimit(pitch, a.count("links"), a.num("limit")))
		}),
	},
	{
		name: "chain-slack-excess", topic: "chain",
		description: "How much longer the slack run of a chain is than the straight line between its ends.",
		source:      closedForm + " (Pythagoras)",
		inputs:      []input{spanInput, slackInput},
		results:     []result{{name: "excess", unit: "mm", what: "Excess of length"}},
		work: func(a *arguments) (outputs, error) {
			return one(workshop.ChainSlackExcess(a.num("span"), a.num("slack")))
		},
	},
	{
		name: "axle-move-for-slack", topic: "chain",
		description: "How far the rear axle must move to change the slack of the chain.",
		source:      closedForm, caution: chainCaution,
		inputs: []input{spanInput, slackInput,
			{name: "wanted_slack", unit: "mm", param: "wantSlackMM", what: "Slack wanted, measured the same way"},
		},
		results: []result{{name: "move", unit: "mm", digits: 3, what: "Movement of the axle backwards; negative forwards"}},
		work: func(a *arguments) (outputs, error) {
			return one(workshop.AxleMoveForSlack(a.num("span"), a.num("slack"), a.num("wanted_slack")))
		},
	},
}

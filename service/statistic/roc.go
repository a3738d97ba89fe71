package statistic

import (
	"math"
	"slices"
)

// Point is what a score separates with one threshold: those with a score of at
// least Threshold are called positive.
type Point struct {
	Threshold float64
	// TruePositiveRate is the share of the positives that are called positive,
	// FalsePositiveRate that of the negatives; both 0 to 1.
	TruePositiveRate, FalsePositiveRate float64
}

// ROC returns the receiver operating characteristic of a score: one point for
// every score that occurs, from the largest down, after a first one with the
// threshold +Inf that calls nothing positive. Both rates never fall from one point
// to the next and end at 1. Nil where either list is empty or a score is NaN.
func ROC(positives, negatives []float64) []Point {
	pos, neg, ok := sortedScores(positives, negatives)
	if !ok {
		return nil
	}
	points := []Point{{Threshold: math.Inf(1)}}
	i, j := len(pos), len(neg) // scores from here on are called positive
	for i > 0 || j > 0 {
		threshold := math.Inf(-1)
		if i > 0 {
			threshold = pos[i-1]
		}
		if j > 0 {
			threshold = max(threshold, neg[j-1])
		}
		for i > 0 && pos[i-1] == threshold {
			i--
		}
		for j > 0 && neg[j-1] == threshold {
			j--
		}
		points = append(points, Point{
			Threshold:         threshold,
			TruePositiveRate:  float64(len(pos)-i) / float64(len(pos)),
			FalsePositiveRate: float64(len(neg)-j) / float64(len(neg)),
		})
	}
	return points
}

// AUC returns the area under the curve of [ROC]: the probability that a positive
// drawn at random has a higher score than a negative, ties counting half. 0.5 is
// a score that says nothing, 1 one that separates all. NaN where either list is
// empty or a score is NaN.
//
// Source: the Mann-Whitney statistic over the number of pairs; Hanley and McNeil,
// Radiology 143, 1982 (from memory).
func AUC(positives, negatives []float64) float64 {
	pos, neg, ok := sortedScores(positives, negatives)
	if !ok {
		return math.NaN()
	}
	var below, upTo int // negatives below the positive, and those with ties
	var wins float64    // twice; whole numbers, exact below 2⁵³
	for _, score := range pos {
		for below < len(neg) && neg[below] < score {
			below++
		}
		upTo = max(upTo, below)
		for upTo < len(neg) && neg[upTo] == score {
			upTo++
		}
		wins += float64(below + upTo)
	}
	return wins / 2 / (float64(len(pos)) * float64(len(neg)))
}

// sortedScores returns sorted copies, or false where either list is empty or
// holds NaN.
func sortedScores(positives, negatives []float64) (pos, neg []float64, ok bool) {
	if len(positives) == 0 || len(negatives) == 0 ||
		slices.ContainsFunc(positives, math.IsNaN) || slices.ContainsFunc(negatives, math.IsNaN) {
		return nil, nil, false
	}
	pos, neg = slices.Clone(positives), slices.Clone(negatives)
	slices.Sort(pos)
	slices.Sort(neg)
	return pos, neg, true
}

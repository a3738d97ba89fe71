package statistic

import "math"

// Line is a stream of points to which a straight line y = intercept + slope·x is
// fitted by least squares. The zero value is an empty stream. Its fields are all
// its state and may be stored and restored.
//
// The residual sum of squares is carried along instead of the spread of y,
// because computing it at the end as a difference costs as many digits as the
// points lie close to the line: all of them for a good gauge.
//
// The coordinates must be finite and their products must not overflow; after NaN
// or an infinity among them Fit refuses for good.
//
// Source: updates of sums of products as in Chan, Golub and LeVeque, The American
// Statistician 37, 1983; recursive residuals as in Brown, Durbin and Evans,
// Journal of the Royal Statistical Society B 37, 1975 (both from memory).
type Line struct {
	// N is how many points there were.
	N int64
	// MeanX and MeanY are the means, rounded; MeanXLow and MeanYLow are what
	// rounding left out of them.
	MeanX, MeanXLow float64
	MeanY, MeanYLow float64
	// SXX is the sum of the squared distances of x from its mean, SXY that of the
	// products of the distances of x and y.
	SXX, SXY float64
	// RSS is the sum of the squared distances of y from the line of least
	// squares, which is level where all x are equal.
	RSS float64
}

// Add takes one more point. It does not allocate.
func (l *Line) Add(x, y float64) {
	before := float64(l.N)
	l.N++
	if l.N == 1 {
		l.MeanX, l.MeanY = x, y
		return
	}
	inverse := 1 / float64(l.N)
	dx := distance(x, 0, l.MeanX, l.MeanXLow)
	dy := distance(y, 0, l.MeanY, l.MeanYLow)
	l.MeanX, l.MeanXLow = moved(l.MeanX, l.MeanXLow, float64(dx*inverse))
	l.MeanY, l.MeanYLow = moved(l.MeanY, l.MeanYLow, float64(dy*inverse))
	l.join(dx, dy, before*inverse, 0, 0, 0)
}

// Merge takes all points of the other stream.
func (l *Line) Merge(other Line) {
	if other.N == 0 {
		return
	}
	if l.N < other.N { // the smaller step is the more exact
		*l, other = other, *l
	}
	if other.N == 0 {
		return
	}
	n := float64(l.N + other.N)
	share := float64(other.N) / n
	weight := float64(l.N) * share
	dx := distance(other.MeanX, other.MeanXLow, l.MeanX, l.MeanXLow)
	dy := distance(other.MeanY, other.MeanYLow, l.MeanY, l.MeanYLow)
	l.MeanX, l.MeanXLow = moved(l.MeanX, l.MeanXLow, float64(dx*share))
	l.MeanY, l.MeanYLow = moved(l.MeanY, l.MeanYLow, float64(dy*share))
	l.N += other.N
	l.join(dx, dy, weight, other.SXX, other.SXY, other.RSS)
}

// join adds the sums of another set of points whose means are dx and dy away;
// weight is the product of the two counts over their sum. What the residuals
// grow by has three parts, none negative, so nothing cancels: the other set's
// own, what the two sets' slopes differ by, and what the other set's mean lies
// off the common slope.
func (l *Line) join(dx, dy, weight, sxx, sxy, rss float64) {
	within := l.SXX + sxx
	total := within + float64(float64(dx*dx)*weight)
	if l.SXX > 0 && sxx > 0 {
		slopes := l.SXY/l.SXX - sxy/sxx
		rss += float64(float64(slopes*slopes) * float64(l.SXX*(sxx/within)))
	}
	switch {
	case within > 0:
		off := dy - float64((l.SXY+sxy)/within*dx)
		rss += float64(float64(off*off) * float64(weight*(within/total)))
	case total == 0: // all x equal: the line is level
		rss += float64(float64(dy*dy) * weight)
	}
	l.SXX = total
	l.SXY += sxy + float64(float64(dx*dy)*weight)
	l.RSS += rss
}

// SYY returns the sum of the squared distances of y from its mean: what the line
// accounts for and what it leaves.
func (l Line) SYY() float64 {
	if l.SXX == 0 {
		return l.RSS
	}
	return float64(l.SXY/l.SXX*l.SXY) + l.RSS
}

// LineFit is a straight line fitted by least squares. Slopes are in units of y
// per unit of x, intercepts and the residual standard deviation in units of y.
type LineFit struct {
	Slope, Intercept float64
	// SlopeSE and InterceptSE are the standard errors.
	SlopeSE, InterceptSE float64
	// ResidualSD is the standard deviation of y about the line, with the divisor
	// DF = N-2.
	ResidualSD float64
	DF         int64
	// R2 is the share of the spread of y that the line accounts for, 0 to 1; 0
	// where y does not vary.
	R2 float64
	// T is Slope over SlopeSE, infinite for points exactly on a sloping line and 0
	// for a level one; P the two-sided probability of one so far from 0 if there
	// is no slope, for normal residuals of equal spread.
	T, P float64
}

// Fit returns the line. It needs at least three points, of which two differ in x.
//
// Source: NIST/SEMATECH e-Handbook, 4.4.3 (from memory).
func (l Line) Fit() (LineFit, error) {
	if l.N < 3 {
		return LineFit{}, badInput("Line.N", float64(l.N), "at least 3 points")
	}
	if !(l.SXX > 0) || !finite(l.SXX) {
		return LineFit{}, badInput("Line.SXX", l.SXX, "a finite number above 0: points that differ in x")
	}
	if !(l.RSS >= 0) || !finite(l.RSS) || !finite(l.SXY) {
		return LineFit{}, badInput("Line.RSS", l.RSS, "a finite number of at least 0: points that are finite")
	}
	n := float64(l.N)
	fit := LineFit{Slope: l.SXY / l.SXX, DF: l.N - 2}
	rise := fit.Slope * l.MeanX
	riseLow := math.FMA(fit.Slope, l.MeanX, -rise) + float64(fit.Slope*l.MeanXLow)
	fit.Intercept = distance(l.MeanY, l.MeanYLow, rise, riseLow)
	fit.ResidualSD = math.Sqrt(l.RSS / float64(fit.DF))
	fit.SlopeSE = fit.ResidualSD / math.Sqrt(l.SXX)
	fit.InterceptSE = fit.ResidualSD * math.Sqrt(1/n+float64(l.MeanX/l.SXX*l.MeanX))
	if fit.Slope == 0 { // also where y does not vary at all
		fit.P = 1
		return fit, nil
	}
	explained := fit.Slope * l.SXY
	fit.R2 = explained / (explained + l.RSS)
	fit.T = fit.Slope / fit.SlopeSE
	fit.P = tTwoSided(fit.T, float64(fit.DF))
	return fit, nil
}

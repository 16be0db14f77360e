package trace

const (
	rangeParts   = 10
	coveredParts = 8     // of ten that must hold rows
	leastFlat    = 0.001 // by which noise of x flattens a slope before it is corrected
)

// gradient is the least-squares slope of one signal over another within a range, each
// tenth of which weighs alike.
func (d Definition) gradient(r Run) Value {
	p := paired(r.Of, r.Over)
	if len(p.t) < 2 {
		return refused(refusedf("the two signals have no time in common"))
	}
	noiseX, _ := ambient(p.t, p.x)
	part := func(x float64) int {
		return min(rangeParts-1, int((x-d.Low)/(d.High-d.Low)*rangeParts))
	}
	var count [rangeParts]float64
	var t, x, y []float64
	var parts []int
	for i, near := range running(p.x, noiseX) {
		if near >= d.Low && near <= d.High {
			parts = append(parts, part(near))
			count[part(near)]++
			t, x, y = append(t, p.t[i]), append(x, p.x[i]), append(y, p.y[i])
		}
	}
	covered := 0
	for _, c := range count {
		if c > 0 {
			covered++
		}
	}
	if len(x) < minSettled || covered < coveredParts {
		return refused(refusedf("the log covers %d tenths of the range, %d are needed", covered, coveredParts))
	}
	weight := func(i int) float64 { return 1 / count[parts[i]] }
	var total, meanX, meanY float64
	for i := range x {
		w := weight(i)
		total += w
		meanX += w * x[i]
		meanY += w * y[i]
	}
	meanX, meanY = meanX/total, meanY/total
	var sxx, sxy, squares float64
	for i := range x {
		w := weight(i)
		sxx += w * (x[i] - meanX) * (x[i] - meanX)
		sxy += w * (x[i] - meanX) * (y[i] - meanY)
		squares += w * w * (x[i] - meanX) * (x[i] - meanX)
	}
	slope := sxy / sxx
	residuals := make([]float64, len(x))
	var sse float64
	for i := range x {
		residuals[i] = y[i] - meanY - slope*(x[i]-meanX)
		sse += residuals[i] * residuals[i]
	}
	f := correlationFactor(residuals, 2)
	df := float64(len(x) - 2)
	var u budget
	u.add(sse/df*f*squares/(sxx*sxx), correlatedDF(df, f))
	if flat := noiseX * noiseX * total / sxx; flat > leastFlat && flat < 0.5 {
		slope /= 1 - flat
		u = u.scaled(1 / (1 - flat))
	}
	return measured(slope, u.u(), t[0], t[len(t)-1])
}

const smoothRows = 400 // the part of a log over which rows are averaged to see where x is

// running returns the mean of the rows about each one, so that the noise of x does not
// decide which rows lie in a range: chosen by itself it would not flatten the slope in the
// middle of a sweep, and would at its ends.
func running(x []float64, noise float64) []float64 {
	if noise == 0 {
		return x
	}
	half := max(2, len(x)/smoothRows)
	total := sums(x)
	means := make([]float64, len(x))
	for i := range x {
		a, b := max(0, i-half), min(len(x), i+half+1)
		means[i] = (total[b] - total[a]) / float64(b-a)
	}
	return means
}

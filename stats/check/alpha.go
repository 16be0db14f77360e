package check

const badAlpha = "check: alpha must lie between 0 and 1"

func mustBeProbability(alpha float64) {
	if !(alpha > 0 && alpha < 1) {
		panic(badAlpha)
	}
}

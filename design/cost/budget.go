package cost

import (
	"fairrun/design"
	"fmt"
	"math"
	"strconv"
	"time"
)

// SupplyText returns an amount of the supply in words, to three digits: "4.12 Ah".
func SupplyText(s *design.Supply, x float64) string {
	text := strconv.FormatFloat(x, 'g', 3, 64)
	if y, err := strconv.ParseFloat(text, 64); err == nil {
		text = strconv.FormatFloat(y, 'f', -1, 64)
	}
	return text + " " + s.Unit
}

// ToLast says what to write for a block's supply to last so many runs, which it does not: shorter ones where they take what is drawn
// over their time, otherwise such as take less, or a larger supply. Numbers are rounded to the safe side.
func ToLast(b *design.Budget, runs int, drawn bool) string {
	s := b.Supply
	each := s.Capacity * s.Usable / float64(runs)
	do := fmt.Sprintf("write use = %q or less", SupplyText(s, threeDigits(each, math.Floor)))
	if drawn {
		run := time.Duration(float64(b.Run) * each / s.PerRun * (1 + 1e-9))
		unit := time.Second
		switch {
		case run >= 10*time.Minute:
			unit = time.Minute
		case run < 10*time.Second:
			unit = time.Millisecond
		}
		do = fmt.Sprintf("write run = %q or less", design.TimeText(run.Truncate(unit)))
	}
	larger := s.PerRun * float64(runs) / s.Usable
	return fmt.Sprintf("%s, or capacity = %q or more: then it lasts %d", do, SupplyText(s, threeDigits(larger, math.Ceil)), runs)
}

// threeDigits rounds x > 0 to three significant digits, forgiving a part in 1e9.
func threeDigits(x float64, round func(float64) float64) float64 {
	unit := math.Pow(10, math.Floor(math.Log10(x))-2)
	if near := math.Round(x / unit); math.Abs(x/unit-near) < 1e-9*near {
		return near * unit
	}
	return round(x/unit) * unit
}

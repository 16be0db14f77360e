package power

// Affordable is the most runs that are proposed on top of, or in place of, so many that are made or planned: twenty times as
// many, and 200 at the least. A number beyond that answers no question that a bench has.
func Affordable(runs int) int { return max(200, 20*runs) }

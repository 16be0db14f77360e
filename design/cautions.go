package design

// Cautions returns the safety text that a starter plan, a sheet, the bench page and a report carry,
// one sentence an item, the deference to those who know better last.
func Cautions() []string {
	return []string{
		"Guard the propeller and stand out of its plane.",
		"Disconnect the power before you touch the propeller or change parts.",
		"Wear eye protection.",
		"Never charge a pack unattended, and never a puffed, damaged or hot one.",
		"Stop at the cell maker's floor voltage and temperature.",
		"The makers' instructions, club and local rules and qualified people come before this plan.",
	}
}

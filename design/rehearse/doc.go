// Package rehearse is a simulated bench: a motor whose winding heats with each
// run and cools in each rest, on packs whose voltage falls as they empty.
//
// In: the physics of a [Bench], what each treatment does to each response
// ([Response]), and a seed. Out: for each run in the order done, what a person
// would note before it (pack voltage, winding temperature) and measure after
// it. The data are invented; they serve to try a plan before hardware is used,
// and for the demonstration.
//
// The physics are common practice, without source: first-order heating and
// cooling of the winding, copper's resistance rising 0.39 % per kelvin, a pack
// whose open-circuit voltage falls in proportion to the charge drawn, less the
// drop over its internal resistance.
package rehearse

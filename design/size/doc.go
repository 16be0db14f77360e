// Package size says how many blocks a campaign takes.
//
// In: a plan, before results ([Ask.Before]), or a sheet with results ([Ask.After]). Out: for each response and family
// of comparisons the blocks that find the margin, what other numbers of blocks reach, and how runs are best shared
// out ([Replicates]); what the order of a sheet can find ([Sensitivities]); and the noise that a campaign measured, for
// the next plan on the same rig ([KeepNoise], [Assumed]). The laws are those of [fairrun/stats/power]. Read ask.go
// first.
package size

// Package analysis leads from a plan and what was measured to the questions
// that the statistics answer: the verdict, and how many replicates it takes.
//
// In: a campaign folder, or a file of results with the roles of its columns.
// Out: results of [fairrun/stats/verdict] and of [fairrun/stats/power]. It knows
// what plan and sheet mean; it computes no statistics of its own.
package analysis

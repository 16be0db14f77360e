// Package analysis judges a campaign as a whole.
//
// In: a run sheet, its plan and the record of its draw. Out: the verdict of [fairrun/stats/verdict] with what only the
// campaign knows: looks, extensions, changes of the plan, aliases of a screen, runs out of order ([Verdict]); and how good
// a drawn order is for the questions of its plan ([Explain]), with what else commands print of a sheet and an extension as
// JSON ([Summarise], [SummariseExtension]). What is asked comes from [fairrun/design/question], how many
// blocks it takes from [fairrun/design/size]. Read verdict.go first.
package analysis

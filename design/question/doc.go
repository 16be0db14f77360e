// Package question turns results into what a verdict is asked.
//
// In: a run sheet that is filled in so far ([Of]), or a file of results without a plan and the roles of its
// columns ([File]). Out: the columns and the request that [fairrun/stats/verdict.Analyse] answers, the looks that
// are planned and taken ([LookPlan]), and the orders that could have been drawn ([Draw]). It knows what plan and
// sheet mean, and computes no statistics. Read question.go first.
package question

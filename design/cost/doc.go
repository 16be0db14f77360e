// Package cost says what a plan takes in runs, packs and hours, and which plan of the same kind would
// fit where it does not.
//
// In goes a design.Plan; out come numbers (Of, BenchTime, SessionTimes, LeastBlocks), and advice in the
// words of the plan's keys (MoreRuns, ToLast, ShorterSession, ShorterCampaign). Read cost.go first.
package cost

package power

import "math"

// Design is the part of a plan that precision depends on. Every block holds
// equally many runs, and every level that is compared has equally many.
type Design struct {
	Treatments   int // combinations of levels that are run, 2 or more
	Blocks       int // 1 or more
	Replicates   int // of each treatment in each block, 1 or more
	RunsPerBlock int // 0: Treatments × Replicates; otherwise incomplete blocks of so many runs
	Compared     int // levels compared with each other; 0: the treatments themselves
	Terms        int // degrees of freedom of all treatment terms; 0: Treatments − 1
	Drift        int // drift terms shared by all blocks
	OwnDrift     int // drift terms that each block has to itself
	CarryOver    int // degrees of freedom of what runs take over from the run before

	// Efficiency is the share of information about a comparison that drift and
	// incomplete blocks leave, in (0, 1]; 0 stands for 1, nothing lost.
	Efficiency float64

	// Sample says that complete blocks are a sample of blocks like them: levels are judged by how far blocks agree. Interplay is
	// how differently a block answers a treatment, a standard deviation over the noise from run to run.
	Sample    bool
	Interplay float64

	// ByLevel says that levels are judged each by its own noise: by runs within blocks where those repeat and blocks are no
	// sample, otherwise by differences paired over blocks. Blocks are complete.
	ByLevel bool
}

// check panics if d is not a design.
func (d Design) check() {
	if d.Treatments < 2 || d.Blocks < 1 || d.Replicates < 0 || d.RunsPerBlock < 0 ||
		d.Replicates == 0 && d.RunsPerBlock == 0 {
		panic("power: a design needs two or more treatments, a block, and runs in it")
	}
	if d.Compared < 0 || d.Compared == 1 || d.Terms < 0 || d.Drift < 0 || d.OwnDrift < 0 || d.CarryOver < 0 {
		panic("power: a design compares two or more levels with a count of terms")
	}
	if !(d.Interplay >= 0) || d.Interplay > 0 && !d.Sample {
		panic("power: interplay is that of a sample of blocks, and not negative")
	}
	if !(d.Efficiency >= 0 && d.Efficiency <= 1) {
		panic("power: an efficiency is more than 0 and at most 1")
	}
}

// runsPerBlock returns the runs each block holds.
func (d Design) runsPerBlock() int {
	if d.RunsPerBlock > 0 {
		return d.RunsPerBlock
	}
	return d.Treatments * d.Replicates
}

// Runs returns the number of runs of the whole campaign.
func (d Design) Runs() int {
	d.check()
	return d.Blocks * d.runsPerBlock()
}

// Precision returns what the design offers a comparison of two levels:
//
//	n  = Runs / Compared                 runs at each level
//	SE = √(2 / (n · Efficiency))
//	DF = Runs − Blocks − Terms − CarryOver − Drift − Blocks · OwnDrift
//
// Where blocks are a sample, SE grows by √(1 + Replicates · Interplay²), and with more than one run of a treatment in a block
// they are judged by the means of treatments in blocks, see mixed.FitCells:
//
//	DF = Blocks · Treatments − Blocks − Terms − CarryOver
//
// With a noise of each level, DF is that of two levels that scatter alike, less the share that drift takes: Blocks − 1 where
// differences are paired; by runs within blocks, with v = Blocks · (Replicates − 1) · Treatments / Compared behind each level,
// 2 v (v + 1) / (v + 2), since Welch's degrees of freedom lie between v and 2 v by chance (the harmonic mean).
//
// DF may come out as none: then nothing can be concluded, and every question
// asked of this precision answers [ErrNoDF].
func (d Design) Precision() Precision {
	runs := d.Runs()
	if d.ByLevel {
		return Precision{SE: d.inflated() / math.Sqrt(d.information(runs)), DF: d.ownDF(d.Blocks)}
	}
	if d.agree() {
		return Precision{SE: d.inflated() / math.Sqrt(d.information(runs)), DF: float64(d.Blocks*(d.Treatments-1) - d.terms() - d.CarryOver)}
	}
	return Precision{
		SE: d.inflated() / math.Sqrt(d.information(runs)),
		DF: float64(runs - d.Blocks - d.terms() - d.CarryOver - d.Drift - d.Blocks*d.OwnDrift),
	}
}

// ownDF is what so many blocks offer a comparison of two levels with a noise of their own.
func (d Design) ownDF(blocks int) float64 {
	spent := float64(d.Drift + d.CarryOver + blocks*d.OwnDrift)
	if d.Sample || d.Replicates < 2 {
		left := float64(blocks*d.runsPerBlock()-blocks-d.terms()) - spent
		if !(left > 0) {
			return 0
		}
		return float64(blocks-1) * left / (left + spent)
	}
	levels := d.Compared
	if levels == 0 {
		levels = d.Treatments
	}
	all := float64(blocks * d.Treatments * (d.Replicates - 1))
	own := max(0, all-spent) / float64(levels)
	return 2 * own * (own + 1) / (own + 2)
}

// information returns 1/SE² of a comparison from so many runs.
func (d Design) information(runs int) float64 {
	levels, e := d.Compared, d.Efficiency
	if levels == 0 {
		levels = d.Treatments
	}
	if e == 0 {
		e = 1
	}
	return float64(runs) / float64(levels) * e / 2
}

// agree says whether levels are judged by how far blocks agree on the means of treatments.
func (d Design) agree() bool { return d.Sample && d.RunsPerBlock == 0 && d.Replicates > 1 }

// inflated is what interplay multiplies a standard error by.
func (d Design) inflated() float64 {
	if d.RunsPerBlock > 0 {
		return 1
	}
	return math.Sqrt(1 + float64(d.Replicates)*d.Interplay*d.Interplay)
}

func (d Design) terms() int {
	if d.Terms == 0 {
		return d.Treatments - 1
	}
	return d.Terms
}

// ByBlocks returns the precision of this design with 1, 2, … blocks in all.
func (d Design) ByBlocks() Growth {
	d.check()
	return Growth{Least: 1, At: func(n int) Precision {
		d := d
		d.Blocks = n
		return d.Precision()
	}}
}

// ByReplicates returns the precision of this design with 1, 2, … replicates of
// each treatment in each of its blocks, which are complete.
func (d Design) ByReplicates() Growth {
	d.check()
	d.RunsPerBlock = 0
	return Growth{Least: 1, At: func(n int) Precision {
		d := d
		d.Replicates = n
		return d.Precision()
	}}
}

// MoreBlocks returns the precision after 0, 1, … further blocks of this design
// on top of what the results so far offer, now. Information adds up:
//
//	1/SE²  grows by RunsPerBlock / Compared · Efficiency / 2 a block
//	DF     grows by RunsPerBlock − 1 − OwnDrift a block
//
// Where blocks are a sample and hold a treatment more than once, SE² falls like one over the blocks, those done counted
// as the design has them, and DF grows by Treatments − 1 a block.
//
// Terms and Drift of the design do not matter here: they are paid for
// in now. Where nothing could be estimated yet, now.SE is +Inf.
func (d Design) MoreBlocks(now Precision) Growth {
	d.check()
	return Growth{Least: 0, At: func(n int) Precision {
		if d.ByLevel && !math.IsInf(now.SE, 1) {
			return Precision{SE: now.SE * math.Sqrt(float64(d.Blocks)/float64(d.Blocks+n)), DF: now.DF + d.ownDF(d.Blocks+n) - d.ownDF(d.Blocks)}
		}
		if d.agree() && !math.IsInf(now.SE, 1) {
			return Precision{SE: now.SE * math.Sqrt(float64(d.Blocks)/float64(d.Blocks+n)), DF: now.DF + float64(n*(d.Treatments-1))}
		}
		runs := n * d.runsPerBlock()
		return d.after(now, runs, runs-n*(1+d.OwnDrift))
	}}
}

// MoreReplicates returns the precision after 0, 1, … further replicates of each
// treatment within each of the design's blocks, on top of now. It is for blocks
// that can still take runs, and for a campaign without blocks (Blocks = 1).
func (d Design) MoreReplicates(now Precision) Growth {
	d.check()
	return Growth{Least: 0, At: func(n int) Precision {
		runs := n * d.Treatments * d.Blocks
		return d.after(now, runs, runs)
	}}
}

// after adds runs, which bring df degrees of freedom, to what now offers.
func (d Design) after(now Precision, runs, df int) Precision {
	return Precision{
		SE: 1 / math.Sqrt(1/(now.SE*now.SE)+d.information(runs)),
		DF: now.DF + float64(df),
	}
}

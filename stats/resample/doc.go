// Package resample makes randomisation tests over the very orders that might
// have been drawn: how often would an order that was not run have made the
// treatments look as different as the order that was?
//
// In: a [Design], which says what the run slots are (blocks and drift), which
// treatment each was given and which comparisons are asked for; a response,
// value by slot; and a source of orders that the draw might have given, fresh
// ones ([Sample]) or all of them ([Enumerate]). Out: a [Result]: the F
// statistic of all treatments, of each family of comparisons, and each
// comparison with its p-values and its simultaneous interval.
//
//	test, err := design.Test(spinUp)
//	results, err := resample.Sample(10_000, sampler, test)
//
// # What is held fixed
//
// The responses stay in their slots and the treatments move. A slot without a
// response (to do, failed, void) stays without. If the treatments do nothing,
// every allowed order would have met the same responses, so that a statistic's
// law over the orders is known exactly, whatever the drift and whatever the law of the
// noise (Fisher 1935, The Design of Experiments; Edgington & Onghena 2007,
// Randomization Tests). That needs the orders to be those of the draw, equally
// likely, and missing runs to be missing for reasons that have nothing to do
// with the treatments.
//
// Counted are orders whose statistic is as large as the drawn order's, ties
// included. Over all orders p is their share; over fresh draws it is
//
//	p = (1 + count) / (1 + draws)
//
// since the drawn order is one more, which keeps the test exact for any number
// of draws (Phipson & Smyth 2010, Statistical Applications in Genetics and
// Molecular Biology 9, 39).
//
// # Statistics
//
// With M the projection that takes out blocks and drift, e = My, X the slots by
// treatments of an order, S = X'e and C = X'MX (the information about the
// treatments), every order is judged by the same least squares fit that the
// analysis of variance makes:
//
//	τ = C⁻S    SS = S'C⁻S    F = (SS/ν) / ((e'e − SS)/df)
//	t = ℓ'τ / sqrt(ℓ'C⁻ℓ · (e'e − SS)/df)        for a comparison ℓ
//
// so that t is studentised by the order's own information and residual. M is
// never formed: with Q an orthonormal basis of blocks and drift, e and Q are
// found once, and an order costs n additions into S and into A = Q'X, then
// C = diag(runs) − A'A. Degrees of freedom follow the rank of C, which missing
// runs may lower in some orders; a comparison that an order cannot estimate
// has t = 0 there.
//
// # Whole plots
//
// Where whole plots move as one ([Design.Plots]) they share noise, and one residual
// variance is too small for what lies between them and too large for what lies
// within. With B the part of the slots that whole plots span beyond blocks and drift,
// what lies in it counts a tenth in the fit, and
//
//	C = X'(M − BB' + λBB')X    λ = 1/10
//	σ²_b = r'BB'r / (rank B − λ·tr(C⁻X'BB'X))    σ²_w = r'(M − BB')r / the other residual df
//	t = ℓ'τ / sqrt(σ²_w·ℓ'C⁻X'(M − BB')XC⁻ℓ + σ²_b·λ²ℓ'C⁻X'BB'XC⁻ℓ)
//
// for the residual r, again in every order. Where runs are balanced within whole plots
// these are the mean squares of the split-plot analysis of variance, whatever λ; otherwise λ costs
// some precision, but no validity. To be compared with one another the |t| are put
// on the scale of the normal law by degrees of freedom after Satterthwaite. The
// overall test is −2·Σ ln p of the F tests within and between whole plots.
//
// A family is parted into comparisons whose precision runs within whole plots decide,
// and those for which whole plots do, by which has the larger part of their variance where σ²_w = λσ²_b.
// Each part has the law of its own largest score and half of the level (p is doubled), so that the few
// ways in which few whole plots can be set do not blur what lies within them.
// A comparison without residual degrees of freedom in its stratum has no numbers.
//
// # Comparisons among several treatments
//
// Three hypotheses, and three p-values, must be kept apart. They are one when
// there are two treatments.
//
//   - No treatment does anything. This is what the p-value of the F test and
//     [Answer.PComplete] refer to; both are exact. PComplete is the
//     single-step max-t of Westfall & Young 1993, Resampling-Based Multiple
//     Testing. If some treatments do differ, their differences are dealt out as
//     noise, and it may err on either side for the others.
//   - This comparison is zero, whatever the other treatments do
//     ([Answer.P], [Answer.PAdjusted]; of a family, [FamilyResult.P]). The
//     effects fitted under that hypothesis are taken out of the response and
//     what is left is dealt out (Freedman & Lane 1983, Journal of Business &
//     Economic Statistics 1, 292–298; Winkler et al. 2014, NeuroImage 92,
//     381–397). PAdjusted holds |t| against the largest |t| of the family in
//     each order. With more than two treatments this is approximate, since fitted
//     effects are not true ones. The error is small because t is studentised:
//     5000 simulated campaigns of 16 or 32 runs, of normal or exponential noise, put
//     false alarms of the family at 4.7 to 5.3 % when nothing differs, and at no
//     more when some treatments differ by ten times the noise.
//   - This comparison is δ, whatever the other treatments do. The interval holds
//     every constant additive δ that is not rejected at level alpha by the same
//     test as PAdjusted, over the same orders: at δ = 0 the two agree. It is
//     exact for two treatments (Ernst 2004, Statistical Science 19, 676–685;
//     Garthwaite 1996, Biometrics 52, 1387–1393, who searches by fresh draws,
//     where here one set serves all δ). In the same campaigns all intervals of
//     a family held in 94.6 to 95.3 %.
//
// In this package n is a number of runs, ν and df are the degrees of freedom of
// treatments and residual, δ a true difference, x = estimate − δ.
//
// Read design.go first, then enumerate.go and judgeplots.go.
package resample

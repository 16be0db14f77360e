// Package information is what an order says of its treatments, by least squares: the information
// matrix with a mean for each block, and with positions or whole plots fitted besides; the
// variances of comparisons that follow from it. In: treatments by block. Out: a matrix by rows, a
// variance, or the sum of variances by which designs are compared. Read inblocks.go first, then
// basis.go for models of effects and inplots.go for whole plots.
package information

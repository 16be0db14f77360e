// Package dense is small dense linear algebra whose results are the same to the last bit on every
// platform: Cholesky factors, inverses and their traces. In: a symmetric matrix by rows. Out: what
// is asked of it, or a word that it is singular. Read cholesky.go.
package dense

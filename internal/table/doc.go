// Package table reads the small CSV tables of readings: a header of known columns, dot decimals, remarks after #, and
// errors that name line and column.
package table

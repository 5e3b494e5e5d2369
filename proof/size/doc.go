// Package size expresses what a test gas loses through a hole as the leak of a refrigerant through the same hole.
package size

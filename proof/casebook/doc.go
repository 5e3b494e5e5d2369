// Package casebook simulates standing-pressure tests, vacuum rises and temperature records whose truth is known, and
// counts how often their judgements are right. Only tests and the accuracy page use it.
package casebook

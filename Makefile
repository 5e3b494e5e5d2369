.PHONY: test check run accuracy
test:
	go test ./...
check:
	bash .ci/run fast
run:
	go run ./cmd/coldwright serve --demo
accuracy:
	go run ./cmd/accuracy

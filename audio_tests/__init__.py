"""Sound, voices and models: what the silent tests cannot try, and the benchmarks."""

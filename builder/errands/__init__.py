"""What else is done with a proved booklet, one file an errand; each begins as a build does, with
`pipeline.prove`."""

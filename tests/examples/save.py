"""Write the saved answers and the saved contract anew: python tests/examples/save.py. The difference is for review."""

from pathlib import Path

from example_cases import CONTRACT, answer, client, contract, examples, written_out


def main() -> None:
    """Save what the service says now; name every file that changed."""
    with client() as service:
        files = {example.saved: answer(service, example) for example in examples()}
        files[CONTRACT] = written_out(contract(service))
    changed = [path for path, text in files.items() if _save(path, text)]
    print(*(f"changed: {path.relative_to(CONTRACT.parent)}" for path in changed), sep="\n")
    print(f"{len(files)} files, {len(changed)} changed")


def _save(path: Path, text: str) -> bool:
    if path.exists() and path.read_text("utf-8") == text:
        return False
    path.write_text(text, encoding="utf-8", newline="\n")
    return True


if __name__ == "__main__":
    main()

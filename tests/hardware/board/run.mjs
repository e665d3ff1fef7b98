// Runs the firmware's story under MicroPython: node run.mjs PATH/TO/micropython.mjs PROJECT
import fs from "node:fs";
import path from "node:path";
import { pathToFileURL } from "node:url";

const [build, project] = process.argv.slice(2);
const { loadMicroPython } = await import(pathToFileURL(build).href);
const python = await loadMicroPython({ stdout: (line) => console.log(line) });
for (const folder of ["hardware", "hardware/board", "tests", "tests/hardware", "tests/hardware/board"]) {
  python.FS.mkdir("/" + folder);
}
for (const folder of ["hardware/board", "tests/hardware/board"]) {
  for (const name of fs.readdirSync(path.join(project, folder)).filter((one) => one.endsWith(".py"))) {
    python.FS.writeFile("/" + folder + "/" + name, fs.readFileSync(path.join(project, folder, name)));
  }
}
python.runPython(`
import sys
sys.path.append("/")
from tests.hardware.board.story import MIXED, refusals, told, told_by_main
print(sys.implementation.name)
for line in told() + told_by_main() + told_by_main(MIXED) + refusals():
    print("".join(["%02x" % byte for byte in line]))
`);

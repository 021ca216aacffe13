// Starts `witnessmark editor` for records and rule files.
const { workspace } = require("vscode");
const { LanguageClient } = require("vscode-languageclient/node");

let client;

exports.activate = () => {
  const command = workspace.getConfiguration("witnessmark").get("program", "witnessmark");
  const server = { command, args: ["editor"] };
  const options = {
    documentSelector: [{ language: "yaml" }, { language: "witnessmark-standard" }],
    synchronize: { fileEvents: workspace.createFileSystemWatcher("**/*.{yaml,yml,standard,json,csv}") },
  };
  client = new LanguageClient("witnessmark", "witnessmark", server, options);
  return client.start();
};

exports.deactivate = () => client && client.stop();

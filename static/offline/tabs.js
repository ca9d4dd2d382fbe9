// Several tabs of one build: what one keeps or sends, the others hear of.
let line = null, outdated = false;

export const isOutdated = () => outdated;

export function watchOthers(build, heard) {
  if (!window.BroadcastChannel) { return; } // older iPhones look again when the tab is
  line = new BroadcastChannel("bench");
  line.onmessage = (event) => {
    outdated ||= event.data === build;
    heard();
  };
}

export function tellOthers(build) { line?.postMessage(build); }

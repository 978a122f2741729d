// The preview's frame: asks what the last build came to, and shows the site or what is wrong.
"use strict";

(function () {
  const state = document.getElementById("state");
  const site = document.getElementById("site");

  function list(title, lines) {
    const heading = document.createElement("h1");
    heading.textContent = title;
    const items = document.createElement("ul");
    for (const line of lines) {
      const item = document.createElement("li");
      item.textContent = line;
      items.append(item);
    }
    return [heading, items];
  }

  function show(news) {
    const wrong = news.problems.length > 0;
    state.className = wrong ? "told" : "";
    if (wrong) {
      const kept = news.built ? " The site below is the last one without problems." : "";
      state.replaceChildren(...list("The trip can't be built as it is." + kept, news.problems));
    } else {
      state.textContent = "Up to date. Saving the trip's files builds it again.";
      if (news.doubts.length > 0) {
        state.replaceChildren(...list("Up to date. Look again:", news.doubts));
      }
    }
    if (!news.built) {
      return;
    }
    if (site.hidden) {
      site.hidden = false;
      site.src = "site/index.html";
    } else if (!wrong) {
      site.contentWindow.location.reload();
    }
  }

  function ask(seen) {
    fetch("state?seen=" + seen)
      .then((answer) => answer.json())
      .then((news) => {
        if (news.version !== seen) {
          show(news);
        }
        ask(news.version);
      })
      .catch(() => {
        state.className = "told";
        state.textContent = "The preview has ended. Start it again and reload this page.";
      });
  }

  ask(0);
})();

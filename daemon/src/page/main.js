new EventSource("/api/live").onmessage = (e) => { document.getElementById("prompt").textContent = JSON.parse(e.data).prompt; };

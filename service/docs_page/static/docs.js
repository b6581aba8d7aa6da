// Starts the viewer. It stands in a file of its own because the page's policy allows no script inside the page.
"use strict";
window.addEventListener("DOMContentLoaded", () => {
  window.SwaggerUIBundle({
    url: "openapi.json",
    dom_id: "#viewer",
    deepLinking: true,
    defaultModelsExpandDepth: 0,
    displayRequestDuration: true,
    layout: "BaseLayout",
    presets: [window.SwaggerUIBundle.presets.apis],
    // The viewer can ask an outside service to check the schema. It must not.
    validatorUrl: null,
  });
});
